"""What the bench reads at the tested speeds and between, against the force that was put into the loops."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from dampkit.bench.run import Run
from dampkit.curves.loop import Curves, Loop
from dampkit.damper.between import held_to_loops
from dampkit.damper.identify import identify
from dampkit.damper.reading import REPEATS, reading, reading_at, reading_curve, with_bench
from dampkit.damper.take_up import TakenOut
from dampkit.damper.unit import Side, Unit
from dampkit.damper.valve import Valve
from dampkit.quantities import DIRECTIONS, Z95, Array, Direction
from tests.made_loops import (
    COMPRESSION,
    FRICTION_N,
    REBOUND,
    SPEEDS_M_S,
    Force,
    law_of,
    sine_loop,
    some_run,
    unit_of,
    with_side,
)

VALVES: dict[Direction, Valve] = {"rebound": REBOUND, "compression": COMPRESSION}
GAS_N, GAS_N_M = 150.0, 900.0


def bench(offset_n: float = 0.0, valves: dict[Direction, Valve] = VALVES) -> Force:
    """Both valves, friction, gas, and what the cell reads with nothing fitted."""

    def force(x: Array, v: Array) -> Array:
        out, back = (valves[d].force(np.maximum(s * v, 0)) for d, s in zip(DIRECTIONS, (1, -1), strict=True))
        return np.asarray(out - back + FRICTION_N * np.tanh(v / 1e-3) - GAS_N + GAS_N_M * x + offset_n)

    return force


def ladder(offset_n: float = 0.0, speeds_m_s: tuple[float, ...] = SPEEDS_M_S) -> tuple[Loop, ...]:
    return tuple(sine_loop(bench(offset_n), v, i, noise_n=1.0) for i, v in enumerate(speeds_m_s))


def identified(loops: tuple[Loop, ...]) -> Unit:
    return identify(Curves(replace(some_run(), force_resolution_n=0.1), loops))


@pytest.mark.parametrize("direction", DIRECTIONS)
def test_at_mid_stroke_the_reading_is_valve_and_friction(direction: Direction) -> None:
    """By hand: the valve at the mean speed near mid-stroke, 25 N of friction; gas and its spring are taken out."""
    loops = [sine_loop(bench(), v, i) for i, v in enumerate(SPEEDS_M_S)]
    read = reading(loops, TakenOut(gas_n=GAS_N, gas_n_m=GAS_N_M), 0.0, None, direction)
    assert read.velocity_m_s == pytest.approx(SPEEDS_M_S, rel=0.004)
    assert read.force_n == pytest.approx(VALVES[direction].force(read.velocity_m_s) + FRICTION_N, rel=1e-3)
    assert read.stage == tuple(range(len(SPEEDS_M_S)))


@pytest.mark.parametrize("offset_n", [0.0, 80.0, -80.0])
@pytest.mark.parametrize("direction", DIRECTIONS)
def test_without_a_slow_pass_and_with_an_offset_the_force_put_in_is_read(offset_n: float, direction: Direction) -> None:
    """No stage shows friction or gas by itself; what is read needs neither, and its interval holds the truth."""
    read = identified(ladder(offset_n)).side(direction).reading
    assert read is not None
    truth = VALVES[direction].force(read.velocity_m_s) + FRICTION_N
    assert read.force_n == pytest.approx(truth, rel=0.01, abs=3.0)
    assert ((read.low_n <= truth) & (truth <= read.high_n)).all()


@pytest.mark.parametrize("direction", DIRECTIONS)
def test_with_a_slow_pass_too(direction: Direction) -> None:
    read = identified(ladder(40.0, (0.005, *SPEEDS_M_S))).side(direction).reading
    assert read is not None
    truth = VALVES[direction].force(read.velocity_m_s) + FRICTION_N * np.tanh(read.velocity_m_s / 1e-3)
    assert read.force_n == pytest.approx(truth, rel=0.01, abs=1.0)


@pytest.mark.parametrize("direction", DIRECTIONS)
def test_between_tested_speeds_the_law_carries_the_reading(direction: Direction) -> None:
    """Speeds halfway between those tested; the knees lie at 0.13 and 0.1 m/s."""
    unit = identified(ladder())
    for v in (0.07, 0.15, 0.25, 0.4, 0.6, 0.9):
        read = reading_at(v, unit, direction)
        truth = float(VALVES[direction].force(np.array([v]))[0]) + FRICTION_N
        assert read is not None
        assert read.value == pytest.approx(truth, rel=0.02)
        assert read.low <= truth <= read.high


@given(st.floats(-25.0, 200.0), st.floats(0.05, 1.0), st.sampled_from(DIRECTIONS))
def test_how_friction_was_separated_does_not_move_a_reading(moved_n: float, speed: float, direction: Direction) -> None:
    """Newtons put from the friction into the law, or into neither, leave what the bench reads at every speed."""
    unit = unit_of()
    now, wrong = reading_at(speed, unit, direction), replace(unit, friction_used_n=FRICTION_N + moved_n)
    law = unit.side(direction).law
    assert law is not None
    assert now is not None
    other = replace(unit.side(direction), law=replace(law, force_n=law.force_n - moved_n))
    for changed in (wrong, with_side(wrong, other), replace(unit, friction_force_n=None)):
        read = reading_at(speed, changed, direction)
        assert read is not None
        assert (read.value, read.half_width) == pytest.approx((now.value, now.half_width))


@pytest.mark.parametrize("speed", SPEEDS_M_S)
def test_at_a_tested_speed_it_is_the_reading_with_its_interval_whatever_the_law(speed: float) -> None:
    unit = unit_of()
    law, read = unit.rebound.law, unit.rebound.reading
    assert law is not None
    assert read is not None
    poor = replace(law, force_n=0.7 * law.force_n, low_n=0.1 * law.force_n, high_n=2 * law.force_n)
    found = reading_at(speed, replace(unit, rebound=replace(unit.rebound, law=poor)), "rebound")
    at = SPEEDS_M_S.index(speed)
    assert found is not None
    assert (found.value, found.low, found.high) == pytest.approx((read.force_n[at], read.low_n[at], read.high_n[at]))


def test_between_two_speeds_that_the_law_misses_it_is_as_unsure_as_that() -> None:
    """A law that is right but for a steep rise between 0.05 and 0.2 m/s, put 30 % too high at 0.1 m/s."""
    unit = unit_of()
    law = unit.rebound.law
    assert law is not None
    bump = 0.3 * np.exp(-((np.log(np.maximum(law.velocity_m_s, 1e-3) / 0.1) / 0.4) ** 2))
    off = replace(law, force_n=law.force_n * (1 + bump), low_n=law.low_n * (1 + bump), high_n=law.high_n * (1 + bump))
    missed = 0.3 * float(REBOUND.force(np.array([0.1]))[0])
    v = math.sqrt(0.1 * 0.2)
    wrong = reading_at(v, replace(unit, rebound=replace(unit.rebound, law=off)), "rebound")
    right = reading_at(v, unit, "rebound")
    assert wrong is not None
    assert right is not None
    assert 0.3 * missed < wrong.half_width < missed
    assert right.half_width < 0.1 * missed
    assert wrong.low <= float(REBOUND.force(np.array([v]))[0]) + FRICTION_N <= wrong.high


def test_halfway_between_two_speeds_the_law_adds_its_own_doubt() -> None:
    """At the geometric mean of 0.5 and 0.75 m/s: the reading's half percent and the law's, as squares."""
    v = math.sqrt(0.5 * 0.75)
    found = reading_at(v, unit_of(), "rebound")
    ends = REBOUND.force(np.array([0.5, 0.75])) + FRICTION_N
    law_n = float(REBOUND.force(np.array([v]))[0])
    own = 0.005 * float(np.interp(v, [0.5, 0.75], ends))
    assert found is not None
    assert found.half_width == pytest.approx(math.hypot(own, 0.005 * law_n), rel=1e-3)


@pytest.mark.parametrize(("lag_s", "explained"), [(0.004, False), (0.0, True)])
def test_between_two_speeds_far_apart_the_loops_say_how_far_the_law_may_be_off(lag_s: float, explained: bool) -> None:
    """A law straight between two stages where the valve has its knee, and loops that lag: the valve's force is held from
    halfway on.
    """
    fast, slow = 0.2, 0.05
    loops = [sine_loop(bench(), v, i, delay_s=lag_s) for i, v in enumerate((slow, fast))]
    taken = TakenOut(gas_n=GAS_N, gas_n_m=GAS_N_M, friction_n=FRICTION_N)
    read = reading(loops, taken, 0.0, None, "rebound")
    law = law_of(REBOUND, fast)
    ends = np.interp(law.velocity_m_s, read.velocity_m_s, read.force_n - FRICTION_N)
    poor = replace(law, force_n=ends, low_n=0.99 * ends, high_n=1.01 * ends, leftover_ratio=0.0 if explained else 0.1)
    side = Side("rebound", held_to_loops(poor, read, loops, taken, "rebound"), read)
    for v in (0.12, 0.14, 0.16):
        truth = float(REBOUND.force(np.array([v]))[0]) + FRICTION_N
        force, half = (float(a[0]) for a in reading_curve(np.array([v]), side, FRICTION_N))
        assert abs(force - truth) < half + 3.0  # a lag of second order moves the mean of both ways


def test_at_tested_speeds_and_for_a_right_law_the_loops_add_next_to_nothing() -> None:
    loops = [sine_loop(bench(), v, i) for i, v in enumerate((0.05, 0.2))]
    taken = TakenOut(gas_n=GAS_N, gas_n_m=GAS_N_M, friction_n=FRICTION_N)
    read = reading(loops, taken, 0.0, None, "rebound")
    law = held_to_loops(law_of(REBOUND, 0.2), read, loops, taken, "rebound")
    assert law.stray is not None
    assert float(law.stray.half_n[law.stray.velocity_m_s > 0.01].max()) < 0.02 * float(law.force_n.max())
    assert np.interp(read.velocity_m_s, law.stray.velocity_m_s, law.stray.half_n).max() == 0.0


def test_beyond_the_fastest_stage_nothing_is_read() -> None:
    unit = unit_of(speeds_m_s=(0.05, 0.1))
    assert reading_at(0.3, unit, "rebound") is None
    assert reading_at(0.101, unit, "rebound") is not None
    assert reading_at(0.05, replace(unit, rebound=Side("rebound")), "rebound") is None


@pytest.mark.parametrize(
    ("speed", "read"), [(0.03, False), (0.041, True), (0.07, True), (0.2, False), (0.79, False), (0.81, True)]
)
def test_a_speed_far_from_every_stage_is_not_read(speed: float, read: bool) -> None:
    """Stages at 0.05, 0.1 and 1.0 m/s: the last two are ten times apart, and what lies between them was not tested."""
    assert (reading_at(speed, unit_of(speeds_m_s=(0.05, 0.1, 1.0)), "rebound") is not None) == read


def test_of_a_repeated_speed_the_first_is_the_reading() -> None:
    """A hot repeat with a fifth less force is fade's business."""
    first, again = sine_loop(bench(), 0.3, 0), sine_loop(bench(), 0.3, 1)
    read = reading([first, replace(again, force_n=0.8 * again.force_n)], TakenOut(gas_n=GAS_N), 0.0, None, "rebound")
    assert read.stage == (0,)


def test_the_interval_holds_scatter_gas_and_the_bench() -> None:
    """Independent parts as squares [jcgm100] 5.1.2: cycles' scatter, gas force, 1 % repeatability; declared 1 % and 5 N."""
    loop = sine_loop(bench(), 0.3)
    loop = replace(loop, force_n=loop.force_n + np.array([-6.0, -2.0, 2.0, 6.0])[:, None])
    run = Run("made", "", 2, np.array([0.0, 1.0]), np.zeros(2), np.zeros(2), force_percent=1.0, force_uncertainty_n=5.0)
    read = reading([loop], TakenOut(gas_n=GAS_N, gas_n_m=GAS_N_M), 2.0, run, "rebound")
    force = float(read.force_n[0])
    scatter = float(np.std([-6, -2, 2, 6], ddof=1)) / 2
    own = Z95 * math.hypot(scatter, 2.0, REPEATS * force)
    assert 0.5 * (read.high_n - read.low_n)[0] == pytest.approx(math.hypot(own, 0.01 * force, 5.0))
    assert with_bench(own, force, None) == own
