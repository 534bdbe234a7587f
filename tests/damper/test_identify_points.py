"""Points of a table to a unit: laws in closed form come back, and what the points do not tell stays open.

The forces come from closed forms written here (orifice F = (v/b)^2, clearance F = v/l, and both with a blow-off through
`made`), not from the analysis.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest

from dampkit.bench.points import Points, PointSet
from dampkit.damper.declared import DamperSpec
from dampkit.damper.identify import identify
from dampkit.damper.reading import reading_at
from dampkit.damper.unit import Unit
from dampkit.errors import CannotAnalyse
from dampkit.quantities import DIRECTIONS, Array

SPEEDS = (0.005, 0.05, 0.1, 0.2, 0.3, 0.5, 0.75, 1.0)
FRICTION_N = 18.0
BLEED = 0.006  # m/s per root of a newton


def orifice(v: Array) -> Array:
    return (v / BLEED) ** 2


def clearance(v: Array) -> Array:
    return 900.0 * v


def digressive(v: Array) -> Array:
    """An orifice up to 0.12 m/s, 400 N; above, straight on with 900 N s/m."""
    knee = 0.12
    return np.where(v < knee, orifice(v), orifice(np.array(knee)) + 900.0 * (v - knee))


def table(
    law: Callable[[Array], Array],
    speeds: tuple[float, ...] = SPEEDS,
    *,
    friction_n: float = FRICTION_N,
    gas_n: float = 0.0,
    half_n: float = 0.5,
) -> Points:
    v = np.array(speeds)
    none = np.zeros(v.size)
    sets = [PointSet(v, law(v) + friction_n - way * gas_n, np.full(v.size, half_n), none) for way in (1.0, -1.0)]
    return Points("table.csv", "0" * 64, "table", v.size, v.size, sets[0], sets[1])


def hydraulic(unit: Unit, v: Array) -> Array:
    law = unit.rebound.law
    assert law is not None
    return np.interp(v, law.velocity_m_s, law.force_n)


@pytest.mark.parametrize("law", [orifice, clearance, digressive])
def test_a_law_comes_back_with_friction_apart(law: Callable[[Array], Array]) -> None:
    unit = identify(table(law))
    v = np.array(SPEEDS[1:])
    np.testing.assert_allclose(hydraulic(unit, v), law(v), rtol=0.02, atol=1.0)
    friction = unit.friction_force_n
    assert friction is not None
    assert friction.low - 0.5 <= FRICTION_N <= friction.high + 0.5
    assert unit.friction_at_most_n is not None
    assert unit.friction_at_most_n >= FRICTION_N


def test_an_orifice_has_its_bleed_and_no_leak() -> None:
    law = identify(table(orifice)).compression.law
    assert law is not None
    assert law.explained
    coefficient = law.bleed_coefficient_n_s2_m2
    assert coefficient is not None
    assert coefficient.low <= 1 / BLEED**2 <= coefficient.high
    assert coefficient.value == pytest.approx(1 / BLEED**2, rel=0.02)
    assert law.leak_coefficient_n_s_m is None
    assert law.blowoff_force_n is None


def test_gas_force_is_taken_out_where_slow_points_show_it() -> None:
    with_gas, without = identify(table(orifice, gas_n=120.0)), identify(table(orifice))
    assert with_gas.gas_force_n is not None
    assert with_gas.gas_force_n.value == pytest.approx(120.0, abs=0.5)
    v = np.array(SPEEDS[1:])
    np.testing.assert_allclose(hydraulic(with_gas, v), hydraulic(without, v), rtol=0.01, atol=1.0)


def test_without_a_slow_point_friction_is_a_bound_and_gas_is_not_told() -> None:
    unit = identify(table(orifice, (0.1, 0.2, 0.3, 0.5, 0.75, 1.0)))
    assert unit.friction_force_n is None
    assert unit.gas_force_n is None
    assert unit.friction_at_most_n is not None
    assert unit.friction_at_most_n >= FRICTION_N
    assert {"friction_open", "gas_open"} <= {q.code for q in unit.quality}


def test_readings_are_the_tables_own_forces_whatever_friction_is_taken() -> None:
    speeds = (0.1, 0.2, 0.3, 0.5, 0.75, 1.0)
    unit = identify(table(digressive, speeds))
    for v in speeds:
        read = reading_at(v, unit, "rebound")
        assert read is not None
        assert read.value == pytest.approx(float(digressive(np.array(v))) + FRICTION_N, rel=1e-3)
        assert read.low < read.value < read.high


def test_a_curve_that_no_valve_law_explains_is_drawn_through_its_points() -> None:
    """Force that falls with speed: no damper valve does it, so the points stand alone, and so do no coefficients."""
    speeds = (0.005, 0.05, 0.1, 0.2, 0.4, 0.6, 0.8, 1.0)
    bumpy = np.array([0.0, 300.0, 500.0, 520.0, 400.0, 390.0, 600.0, 900.0])
    unit = identify(table(lambda v: np.interp(v, speeds, bumpy), speeds))
    law = unit.rebound.law
    assert law is not None
    assert not law.explained
    assert (law.bleed_area_mm2, law.leak_coefficient_n_s_m, law.blowoff_force_n) == (None, None, None)
    taken = unit.friction_used_n - FRICTION_N
    np.testing.assert_allclose(hydraulic(unit, np.array(speeds[1:])), bumpy[1:] - taken, rtol=0.02, atol=3.0)
    assert any(q.code == "as_measured" for q in unit.quality)


@pytest.mark.parametrize("law", [orifice, clearance, digressive])
@pytest.mark.parametrize("speeds", [SPEEDS, SPEEDS[1:], (0.1, 0.3, 0.6, 1.0), (0.2, 0.6)])
def test_the_curve_rises_where_its_points_do(law: Callable[[Array], Array], speeds: tuple[float, ...]) -> None:
    for side in identify(table(law, speeds)).sides:
        assert side.law is not None
        assert side.law.velocity_m_s.size >= 50
        assert side.law.velocity_m_s[0] == 0.0
        assert side.law.velocity_m_s[-1] == pytest.approx(speeds[-1])
        assert side.law.force_n[0] == pytest.approx(0.0, abs=1e-6)
        assert np.all(np.diff(side.law.force_n) >= -1e-9)
        assert np.all((side.law.low_n <= side.law.force_n) & (side.law.force_n <= side.law.high_n))


def test_as_many_parameters_as_points_explain_nothing() -> None:
    law = identify(table(digressive, (0.2, 0.6))).rebound.law
    assert law is not None
    assert not law.explained
    assert law.bleed_area_mm2 is None


def test_intervals_hold_the_truth_as_often_as_they_claim() -> None:
    """Readings scattered by 1 %, the repeatability that the readings count: the curve's 95 % interval at the speeds tested."""
    rng, held, asked = np.random.default_rng(11), 0, 0
    v = np.array(SPEEDS[1:])
    for _ in range(25):
        noisy = table(lambda x: orifice(x) * (1 + rng.normal(0.0, 0.01, x.size)))
        for side in identify(noisy).sides:
            assert side.law is not None
            low, high = (np.interp(v, side.law.velocity_m_s, end) for end in (side.law.low_n, side.law.high_n))
            held += int(np.sum((low - 1e-6 <= orifice(v)) & (orifice(v) <= high + 1e-6)))
            asked += v.size
    assert held / asked > 0.92


def test_a_repeated_speed_is_its_mean_and_a_hot_one_is_left_out() -> None:
    v = np.array([0.1, 0.3, 0.3, 0.3, 1.0])
    f = np.array([100.0, 300.0, 310.0, 200.0, 900.0])
    warm = np.array([20.0, 20.0, 22.0, 70.0, 21.0])
    points = PointSet(v, f, np.full(5, 0.5), np.zeros(5), warm)
    unit = identify(Points("t", "0" * 64, "table", 5, 5, points, points))
    read = unit.rebound.reading
    assert read is not None
    assert read.velocity_m_s.tolist() == [0.1, 0.3, 1.0]
    assert read.force_n.tolist() == [100.0, 305.0, 900.0]
    assert read.stage == (-1, -1, -1)


def test_points_of_several_settings_are_no_unit() -> None:
    points = table(orifice)
    assert points.rebound is not None
    mixed = replace(points.rebound, group=np.array([0.0, 0, 0, 0, 4, 4, 4, 4]))
    with pytest.raises(CannotAnalyse, match="0, 4"):
        identify(replace(points, rebound=mixed))


def test_a_friction_damper_has_one_sliding_force_and_no_valve() -> None:
    spec = DamperSpec.model_validate({"damper": {"kind": "friction-disc"}})
    flat = table(lambda v: np.full(v.size, 200.0), (0.02, 0.1, 0.3), friction_n=0.0)
    unit = identify(flat, spec)
    assert unit.sliding is not None
    assert unit.friction_force_n is not None
    assert unit.friction_force_n.value == pytest.approx(200.0)
    assert all(side.law is None for side in unit.sides)
    read = reading_at(0.2, unit, "rebound")
    assert read is not None
    assert read.value == pytest.approx(200.0)


def test_one_direction_alone_is_said() -> None:
    unit = identify(replace(table(orifice), compression=None))
    assert unit.compression.law is None
    assert unit.rebound.law is not None
    assert any(q.code == "one_direction" and "compression" in q.message for q in unit.quality)


def test_slow_points_alone_show_no_valve() -> None:
    unit = identify(table(clearance, (0.002, 0.005, 0.01)))
    assert all(side.law is None for side in unit.sides)
    assert any(q.code == "no_valve_fit" for q in unit.quality)
    assert unit.friction_at_most_n is not None


@pytest.mark.parametrize("direction", DIRECTIONS)
def test_a_declared_bench_widens_the_readings(direction: str) -> None:
    """2 % of a force beside 1.96 %: root of the sum of squares [jcgm100] 5.1.2, with half a newton of digits."""
    unit = identify(replace(table(orifice), force_percent=2.0))
    read = unit.rebound.reading if direction == "rebound" else unit.compression.reading
    assert read is not None
    force = float(orifice(np.array(1.0))) + FRICTION_N
    half = float(read.high_n[-1] - read.low_n[-1]) / 2
    assert half == pytest.approx(np.sqrt((0.0196 * force) ** 2 + (0.02 * force) ** 2 + 0.25), rel=1e-3)
