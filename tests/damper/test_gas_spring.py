"""The gas as a spring, against figures worked out by hand from the ideal gas law."""

from __future__ import annotations

import math

import pytest

from dampkit.damper.gas_spring import AIR_PA, FAST, SLOW, GasSpring, volume_from_stiffness_m3

ROD_M2 = 0.25 * math.pi * 0.011**2  # 95.03 mm2
SPRING = GasSpring(AIR_PA + 25e5, 20.0, 60e-6, ROD_M2)


def test_gauge_pressure_on_the_rod() -> None:
    """25 bar over the air on a rod of 11 mm: 237.6 N."""
    assert SPRING.force_n(0.0, 20.0) == pytest.approx(237.58, abs=0.01)


@pytest.mark.parametrize(
    ("out_m", "exponent", "force_n"),
    [(-0.025, SLOW, 247.776), (0.025, SLOW, 228.168), (-0.025, FAST, 251.968), (0.025, FAST, 224.502)],
)
def test_force_rises_as_the_rod_goes_in(out_m: float, exponent: float, force_n: float) -> None:
    """p V^n with V = 60 ml + 95.03 mm2 x travel: 57.624 and 62.376 ml; p0 26.01325 bar absolute."""
    assert SPRING.force_n(out_m, 20.0, exponent) == pytest.approx(force_n, abs=0.02)


def test_pressure_goes_with_absolute_temperature() -> None:
    """353.15 K over 293.15 K: 26.01325 bar become 31.3375."""
    assert SPRING.pressure_at_pa(0.0, 80.0) == pytest.approx(31.3375e5, rel=1e-5)


def test_oil_that_swells_takes_room_from_the_gas() -> None:
    """300 ml swell by 13.5 ml over 60 K: 60 ml of gas become 46.5 ml."""
    full = GasSpring(AIR_PA + 25e5, 20.0, 60e-6, ROD_M2, 300e-6)
    assert full.pressure_at_pa(0.0, 80.0) == pytest.approx(31.3375e5 * 60.0 / 46.5, rel=1e-5)


def test_no_force_where_no_room_is_left() -> None:
    tight = GasSpring(AIR_PA + 25e5, 20.0, 10e-6, ROD_M2, 300e-6)
    assert tight.force_n(0.0, 80.0) is None
    assert tight.force_n(-0.2, 20.0) is None


def test_volume_of_a_spring_is_the_one_that_makes_it() -> None:
    """Slope of the force over 0.1 mm either way, back to the volume."""
    ends = [SPRING.force_n(x, 20.0) for x in (-1e-4, 1e-4)]
    assert ends[0] is not None
    assert ends[1] is not None
    stiffness = (ends[0] - ends[1]) / 2e-4
    assert volume_from_stiffness_m3(stiffness, SPRING.pressure_pa, ROD_M2) == pytest.approx(60e-6, rel=1e-4)
