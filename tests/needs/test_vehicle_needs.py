"""A target ratio is meant for a wheel that swings in a sine: what a bench that moves at a steady speed reads is brought to it.

Outside: over a sine Coulomb friction is worth 4 F/(pi V), at a steady speed F/V, [rao] ch. 3.
"""

from __future__ import annotations

import math

import numpy as np
import pytest

from dampkit.bench.run import Run
from dampkit.curves.loop import Curves, Loop, Stage
from dampkit.damper.identify import identify
from dampkit.needs.declared import VehicleSpec
from dampkit.needs.ratio import is_sine
from dampkit.needs.vehicle_needs import VehicleNeeds, vehicle_needs
from dampkit.quantities import Array
from tests.damper.test_identify_points import table
from tests.needs.made import POINTS, SALOON, Law, crank_loop, sine_loop

VISCOUS, COULOMB_N = 1000.0, 60.0
SPEEDS_M_S = (0.1, 0.2, 0.3)
CORNER = {
    "sprung_mass_kg": 380.0, "unsprung_mass_kg": 42.0, "tyre_rate_n_mm": 200.0, "wheel_rate_n_mm": 30.0,
    "damper_motion_ratio": 0.8,
}  # fmt: skip


def law(x: Array, v: Array) -> Array:
    return VISCOUS * v + COULOMB_N * np.sign(v)


def triangle_loop(law: Law, speed_m_s: float, half_stroke_m: float = 0.025) -> Loop:
    """Out and back at one speed; it turns within a point."""
    phase = (np.arange(POINTS) + 0.5) / POINTS
    x, v = half_stroke_m * (4 * np.abs(phase - 0.5) - 1), np.where(phase < 0.5, -speed_m_s, speed_m_s)
    stage = Stage(0, 0, POINTS, speed_m_s / (4 * half_stroke_m), 1, 2 * half_stroke_m)
    return Loop(stage, x, v, np.zeros(POINTS), law(x, v)[None, :], 8)


def needs_of(*loops: Loop) -> VehicleNeeds:
    t = np.arange(4.0)
    unit = identify(table(lambda v: VISCOUS * v, friction_n=COULOMB_N))
    found = vehicle_needs(
        Curves(Run("made up", "0" * 64, 4, t, t, t), loops),
        VehicleSpec.model_validate({"corner": CORNER}),
        unit,
        ride=False,
    )
    assert found is not None
    return found


def test_sine_crank_and_triangle() -> None:
    assert is_sine(sine_loop(law, 0.3))
    assert is_sine(crank_loop(law, 12.0))
    assert not is_sine(triangle_loop(law, 0.3))


def test_the_ratio_held_against_a_target_is_that_of_a_sine_on_any_drive() -> None:
    found = needs_of(*(triangle_loop(law, v) for v in SPEEDS_M_S))
    to_ratio = SALOON.motion_ratio**2 / SALOON.critical_damping_n_s_m
    for v, as_run in zip(SPEEDS_M_S, found.ratios, strict=True):
        (rated,) = (r for r in found.rated if r.peak_velocity_m_s == pytest.approx(v))
        assert as_run.damping_ratio.value == pytest.approx(to_ratio * (VISCOUS + COULOMB_N / v), rel=1e-6)
        assert rated.damping_ratio.value == pytest.approx(
            to_ratio * (VISCOUS + 4 * COULOMB_N / (math.pi * v)), rel=0.02
        )


def test_a_slow_pass_of_another_shape_changes_nothing() -> None:
    found = needs_of(triangle_loop(law, 0.005), *(sine_loop(law, v) for v in SPEEDS_M_S))
    assert found.rated is found.ratios
