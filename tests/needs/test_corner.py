"""Critical damping, static deflection and the two modes, against books and a control library."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from dampkit.needs.corner import Corner
from dampkit.needs.declared import VehicleSpec
from dampkit.needs.from_file import corner_of
from tests.needs.made import BARTON, SALOON


def test_vehicle_file_becomes_si() -> None:
    spec = VehicleSpec.model_validate(
        {
            "vehicle": {"name": "made up"},
            "corner": {
                "sprung_mass_kg": 380.0,
                "unsprung_mass_kg": 42.0,
                "wheel_rate_n_mm": 30.0,
                "tyre_rate_n_mm": 200.0,
                "damper_motion_ratio": 0.8,
            },
            "target": {"damping_ratio": 0.28, "rebound_share": 0.7},
        }
    )
    assert corner_of(spec) == SALOON


def test_critical_damping_of_a_worked_example() -> None:
    """[khurmi] Theory of Machines: m 8 kg, s 5400 N/m, c 40 N s/m give c_c 416 N s/m and a ratio of 0.096."""
    example = Corner("book", 8.0, 1.0, 5400.0, 1e5, 1.0)
    assert example.critical_damping_n_s_m == pytest.approx(416, rel=1e-3)
    assert 40 / example.critical_damping_n_s_m == pytest.approx(0.096, rel=5e-3)


@pytest.mark.parametrize(("hertz", "millimetres"), [(0.5, 993.62), (1.0, 248.405), (1.5, 110.40), (2.5, 39.745)])
def test_body_swings_like_a_pendulum_as_long_as_its_deflection(hertz: float, millimetres: float) -> None:
    """f = sqrt(g/delta)/2 pi, [gillespie1992] ch. 5 (from memory; millimetres computed with g 9.80665)."""
    stiff = (2 * math.pi * hertz) ** 2 * 400.0
    corner = Corner("", 400.0, 40.0, stiff, 1e11, 1.0)
    assert 1e3 * corner.static_deflection_m == pytest.approx(millimetres, rel=5e-5)
    assert corner.modes().body_frequency_hz == pytest.approx(hertz, rel=1e-4)


def test_two_masses_of_a_textbook_car() -> None:
    """[barton2018] sec. 3.13 prints 7.87 rad/s (1.25 Hz) and 68.73 rad/s (10.9 Hz)."""
    modes = BARTON.modes()
    assert 2 * math.pi * modes.body_frequency_hz == pytest.approx(7.87, rel=2e-3)
    assert 2 * math.pi * modes.wheel_frequency_hz == pytest.approx(68.73, rel=1e-3)


@pytest.mark.parametrize("damping", [0.0, 1000.0, 1500.0, 4000.0, 20000.0])
def test_modes_agree_with_a_control_library(damping: float) -> None:
    import control

    a = BARTON.state_matrix(damping)
    wn, zeta, _ = control.damp(control.ss(a, np.eye(4), np.eye(4), np.zeros((4, 4))), doprint=False)
    modes = BARTON.modes(damping)
    got = sorted([modes.body_frequency_hz, modes.wheel_frequency_hz])
    swinging = zeta < 1
    if swinging.all():
        assert got == pytest.approx(sorted(wn[::2] / (2 * math.pi)), rel=1e-9)
        assert sorted([modes.body_ratio, modes.wheel_ratio]) == pytest.approx(sorted(zeta[::2]), abs=1e-9)
    else:  # a creeping pair: its product is kept, whichever way it is paired
        assert math.prod(got) * (2 * math.pi) ** 2 == pytest.approx(math.sqrt(math.prod(wn)), rel=1e-9)


def test_single_mass_ratio_overstates_body_damping() -> None:
    """Same car, c = 1500 N s/m: 0.2838 of critical, but the body mode has 0.24295 (control.damp)."""
    assert 1500 / BARTON.critical_damping_n_s_m == pytest.approx(0.28378, abs=1e-5)
    assert BARTON.modes(1500).body_ratio == pytest.approx(0.24295, abs=1e-5)
    assert BARTON.modes(1500).wheel_ratio == pytest.approx(0.25011, abs=1e-5)


def test_ride_rate_is_two_springs_in_series() -> None:
    assert 1 / SALOON.ride_rate_n_m == pytest.approx(1 / 30e3 + 1 / 200e3)


def test_damper_coefficient_goes_to_the_wheel_with_the_square_of_the_motion_ratio() -> None:
    assert SALOON.at_wheel(1000) == pytest.approx(640)
    assert SALOON.at_damper(SALOON.at_wheel(1234)) == pytest.approx(1234)


@given(st.floats(0, 1e5), st.floats(50, 2000), st.floats(5, 400), st.floats(3e3, 5e5), st.floats(5e4, 1e6))
def test_modes_keep_the_sums_and_products_of_the_matrix(c: float, ms: float, mu: float, k: float, kt: float) -> None:
    """Trace and determinant of the state matrix, whatever the damping (identity)."""
    corner = replace(SALOON, sprung_mass_kg=ms, unsprung_mass_kg=mu, wheel_rate_n_m=k, tyre_rate_n_m=kt)
    modes = corner.modes(c)
    w1, w2 = 2 * math.pi * modes.body_frequency_hz, 2 * math.pi * modes.wheel_frequency_hz
    assert (w1 * w2) ** 2 == pytest.approx(k * kt / (ms * mu), rel=1e-4)
    assert 2 * (modes.body_ratio * w1 + modes.wheel_ratio * w2) == pytest.approx(c / ms + c / mu, rel=1e-4, abs=1e-6)
