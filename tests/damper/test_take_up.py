"""Lost motion and stored travel of loops whose void is known, and the one hydraulic force that everything reads."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from dampkit.damper.reading import middle_of, reading
from dampkit.damper.stroke_friction import INSIDE, stroke_friction
from dampkit.damper.take_up import (
    READING_M,
    READING_SHARE,
    TakenOut,
    hydraulic_n,
    lost_motion_mm,
    slow_take_ups,
    static_force_n,
    take_up,
    take_ups,
)
from dampkit.damper.valve import Valve
from dampkit.quantities import DIRECTIONS, SIGN, Z95, Array, Direction, read_only
from tests.made_loops import COMPRESSION, FRICTION_N, POINTS, REBOUND, STROKE_M, ladder, loop_of, sine_loop, unit_of

HALF_M = 0.5 * STROKE_M
STEP_MM = 1e3 * math.pi * STROKE_M / POINTS  # of a loop at mid-stroke: no travel is read finer
LEAK = Valve(leak=1 / 3000.0)
BLEED = Valve(bleed=0.006)


@pytest.mark.parametrize(
    ("valve", "own_m"), [(LEAK, HALF_M * (1 - math.cos(math.pi / 6))), (BLEED, HALF_M * (1 - math.cos(math.pi / 4)))]
)
@pytest.mark.parametrize("void_mm", [10.0, 15.0, 20.0])
def test_lost_motion_is_the_void_beyond_the_valves_own_rise(valve: Valve, own_m: float, void_mm: float) -> None:
    """Half of the force at mid-stroke is there at half the speed of a leak, at root half of a bleed's: by the sine."""
    unit = unit_of(valve, valve)
    seen = take_up(loop_of(unit, 0.1, late_mm=void_mm), unit.taken_out, valve, "compression")
    assert seen is not None
    assert 1e3 * seen.lost_m == pytest.approx(void_mm - 1e3 * own_m, abs=1.5 * STEP_MM)
    assert 1e3 * seen.stored_m == pytest.approx(void_mm, abs=1.5 * STEP_MM)
    assert 1e3 * seen.early_m == pytest.approx(void_mm, abs=1.5 * STEP_MM)
    assert seen.reached_ratio == pytest.approx(1.0, abs=0.01)


@pytest.mark.parametrize("speed", [0.05, 0.1, 0.3, 1.0])
@pytest.mark.parametrize("direction", DIRECTIONS)
def test_a_sound_unit_loses_and_stores_no_travel(speed: float, direction: Direction) -> None:
    unit = unit_of()
    law = unit.side(direction).law
    assert law is not None
    seen = take_up(loop_of(unit, speed), unit.taken_out, law.valve, direction)
    assert seen is not None
    assert abs(seen.lost_m) < 1e-4
    assert abs(seen.stored_m) < 4e-4
    assert seen.law_n == pytest.approx(float(law.valve.force(np.array([speed]))[0]), rel=0.01)


@pytest.mark.parametrize("speed", [0.05, 0.1])
@pytest.mark.parametrize("direction", DIRECTIONS)
def test_a_groove_in_mid_stroke_is_no_lost_travel(speed: float, direction: Direction) -> None:
    """Over 8 mm on each side of the middle a groove leaves a third of the force: there it has come up long before."""

    def force(x: Array, v: Array) -> Array:
        share = np.where(np.abs(x) < 0.008, 0.33, 1.0)
        return np.asarray(np.sign(v) * share * BLEED.force(np.abs(v)) + FRICTION_N * np.tanh(v / 1e-3))

    seen = take_up(sine_loop(force, speed), TakenOut(friction_n=FRICTION_N), BLEED, direction)
    assert seen is not None
    assert seen.reached_ratio == pytest.approx(0.33, abs=0.02)
    assert 1e3 * seen.lost_m == pytest.approx(0.0, abs=1.5 * STEP_MM)
    assert 1e3 * seen.moved_m(2.0) < 2.0


def test_the_void_is_on_its_own_side_alone() -> None:
    unit = unit_of()
    loops = ladder(unit, late_mm=14.0)
    rebound = lost_motion_mm(take_ups(loops, unit.taken_out, REBOUND, "rebound"), FRICTION_N)
    compression = lost_motion_mm(take_ups(loops, unit.taken_out, COMPRESSION, "compression"), FRICTION_N)
    assert rebound is not None
    assert compression is not None
    assert rebound.value == pytest.approx(0.0, abs=0.1)
    assert compression.value > 6.0


@pytest.mark.parametrize("void_mm", [12.0, 18.0])
def test_lost_motion_of_several_stages_is_their_mean_with_its_interval(void_mm: float) -> None:
    """Two slow stages of a bleed, 18 mm say less 7.32 each: no spread, 0.25 mm of reading over root two, 5 %."""
    unit = unit_of(BLEED, BLEED)
    loops = tuple(loop_of(unit, v, i, void_mm) for i, v in enumerate((0.08, 0.12, 0.5)))
    lost = lost_motion_mm(take_ups(loops, unit.taken_out, BLEED, "compression"), FRICTION_N)
    wanted = void_mm - 1e3 * HALF_M * (1 - math.cos(math.pi / 4))
    assert lost is not None
    assert lost.value == pytest.approx(wanted, abs=1.5 * STEP_MM)
    error = 1e3 * READING_M / math.sqrt(2) + READING_SHARE * lost.value
    assert lost.half_width == pytest.approx(Z95 * error, rel=0.05)


def test_what_oil_and_bushes_give_is_taken_off_each_stage_by_its_own_force() -> None:
    """8 um for each newton at half of the force, beside 2 mm of void: stages unlike by their springs alone agree."""
    unit, give_m_n, void_m = unit_of(BLEED, BLEED), 8e-6, 2e-3
    plain = take_ups([loop_of(unit, v, i) for i, v in enumerate((0.08, 0.12))], unit.taken_out, BLEED, "compression")
    found = [replace(t, lost_m=void_m + give_m_n * 0.5 * t.law_n) for t in plain]
    whole, lost = (lost_motion_mm(found, FRICTION_N, give_m_n=give) for give in (0.0, give_m_n))
    assert whole is not None
    assert lost is not None
    assert lost.value == pytest.approx(1e3 * void_m, abs=1e-9)
    assert lost.half_width == pytest.approx(Z95 * (1e3 * READING_M / math.sqrt(2) + READING_SHARE * 2.0), rel=1e-6)
    assert whole.half_width > 1.5 * lost.half_width


def test_an_unsure_channel_delay_widens_lost_motion_by_the_speed_there() -> None:
    unit = unit_of(BLEED, BLEED)
    found = take_ups([loop_of(unit, 0.1, late_mm=15.0)], unit.taken_out, BLEED, "compression")
    sure, unsure = (lost_motion_mm(found, FRICTION_N, error_s) for error_s in (0.0, 0.01))
    assert sure is not None
    assert unsure is not None
    added = math.sqrt(unsure.half_width**2 - sure.half_width**2)
    assert added == pytest.approx(Z95 * 1e3 * 0.01 * found[0].speed_m_s, rel=1e-6)


def test_only_slow_stages_with_a_force_beyond_friction_are_read_and_each_speed_once() -> None:
    unit = unit_of(BLEED, BLEED)
    loops = [loop_of(unit, v, i) for i, v in enumerate((0.02, 0.08, 0.12, 0.5, 0.08))]
    found = take_ups(loops, unit.taken_out, BLEED, "rebound")
    assert [t.stage for t in slow_take_ups(found, FRICTION_N)] == [1, 2]  # at 0.02 m/s the bleed makes 11 N
    assert lost_motion_mm((), FRICTION_N) is None


def test_a_slow_pass_shows_no_take_up() -> None:
    unit = unit_of()
    assert take_up(loop_of(unit, 0.005), unit.taken_out, REBOUND, "rebound") is None


@given(
    st.floats(-300, 300), st.floats(-3000, 3000), st.floats(0, 2e4), st.floats(0, 200), st.floats(0, 4),
    st.sampled_from([0.0, 0.002, 0.01]), st.sampled_from([0.05, 0.3]),
)  # fmt: skip
def test_everything_but_the_valve_comes_out_of_a_loop(
    gas_n: float, gas_n_m: float, gas_n_m2: float, friction_n: float, mass_kg: float, delay_s: float, speed: float
) -> None:
    """Each term put into a loop is taken out again; what is left is 1500 N s/m times the speed, at every point."""
    omega = speed / HALF_M
    taken = TakenOut(gas_n, gas_n_m, gas_n_m2, friction_n, 0.02, mass_kg, delay_s)

    def force(x: Array, v: Array) -> Array:
        static = -gas_n + (gas_n_m + gas_n_m2 * x) * x
        return np.asarray(1500.0 * v + static + friction_n * np.tanh(v / 0.02) - mass_kg * omega**2 * x)

    loop = sine_loop(force, speed, delay_s=delay_s)
    for direction in DIRECTIONS:
        left = hydraulic_n(loop, taken, direction)
        assert left == pytest.approx(SIGN[direction] * 1500.0 * loop.velocity_m_s, abs=0.02 * 1500 * speed + 0.5)


def test_reading_take_up_and_friction_over_the_stroke_see_one_hydraulic_force() -> None:
    """At mid-stroke the reading less friction, the take-up's end and the loop's hydraulic force are one."""
    unit = unit_of()
    loop = loop_of(unit, 0.2)
    for direction in DIRECTIONS:
        hydraulic = hydraulic_n(loop, unit.taken_out, direction)
        speed, middle = middle_of(loop, direction, hydraulic)
        read = reading([loop], unit.taken_out, 0.0, None, direction)
        law = unit.side(direction).law
        assert law is not None
        seen = take_up(loop, unit.taken_out, law.valve, direction)
        assert seen is not None
        assert float(read.force_n[0]) - unit.friction_used_n == pytest.approx(float(middle), abs=0.2)
        assert float(read.velocity_m_s[0]) == speed
        assert set(seen.force_n.tolist()) <= set(hydraulic.tolist())
    places = stroke_friction(loop, unit)
    middle_half = np.abs(places.place_m) < 0.5 * INSIDE * HALF_M
    assert places.both_n[middle_half] == pytest.approx(unit.friction_used_n, abs=1.0)


def test_static_force_is_gas_with_its_spring_in_tension() -> None:
    """150 N pushes out: -150 N in tension at the middle; 800 N/m and 2000 N/m2 at 10 mm by hand."""
    taken = TakenOut(gas_n=150.0, gas_n_m=800.0, gas_n_m2=2000.0)
    assert static_force_n(taken, np.array([0.0, 0.01])) == pytest.approx([-150.0, -150.0 + 8.0 + 0.2])


def test_one_cycle_can_be_read_in_place_of_the_mean() -> None:
    unit = unit_of(BLEED, BLEED)
    tight, loose = loop_of(unit, 0.1), loop_of(unit, 0.1, late_mm=15.0)
    both = replace(tight, force_n=read_only(np.vstack([tight.force_n[:1], loose.force_n[:1]])))
    lost = [take_up(both, unit.taken_out, BLEED, "compression", cycle) for cycle in both.force_n]
    assert [1e3 * t.lost_m for t in lost if t is not None] == pytest.approx([0.0, 15.0 - 7.32], abs=1.5 * STEP_MM)
