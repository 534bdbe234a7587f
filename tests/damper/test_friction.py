"""Friction from the loops alone, against closed forms: Coulomb friction beside a viscous, quadratic or opening valve."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from dampkit.bench.run import Run
from dampkit.curves.loop import Curves, Loop, Stage
from dampkit.damper.friction import CLOSED_M_S, SHARES, FrictionBounds, friction_bounds, friction_estimate, half_width
from dampkit.damper.identify import identify
from dampkit.damper.valve import Valve
from dampkit.quantities import DIRECTIONS, Array, Estimate
from dampkit.virtual.truth import bench_reading
from dampkit.virtual.units import TWIN_TUBE
from tests.made_loops import STROKE_M, Force, sine_loop, some_run

RESOLUTION_N = 0.1
SHARP_M_S = 2e-4  # friction has turned over long before the slowest share of the slowest stage
GAS_N, GAS_N_M = 180.0, 900.0


def dry_and(friction_n: float, rebound: Valve, compression: Valve, gas_n: float = GAS_N) -> Force:
    """Coulomb friction, two valves, gas force."""

    def force(x: Array, v: Array) -> Array:
        valves = np.where(v > 0, rebound.force(np.maximum(v, 0)), -compression.force(np.maximum(-v, 0)))
        return np.asarray(valves + friction_n * np.tanh(v / SHARP_M_S) - gas_n + GAS_N_M * x)

    return force


def power_law(friction_n: float, exponent: float, at_one_n: float) -> Force:
    def force(x: Array, v: Array) -> Array:
        return np.asarray(np.sign(v) * at_one_n * np.abs(v) ** exponent + friction_n * np.tanh(v / SHARP_M_S) - GAS_N)

    return force


def behind_a_spring(friction_n: float, c_n_s_m: float, stiffness_n_m: float, speed_m_s: float) -> Loop:
    """Coulomb friction beside a viscous damper with a spring in series: F = c V cos(wt - p)/sqrt(1 + (w c/k)^2).

    Source of the closed form: Maxwell element in steady sine, any textbook of viscoelasticity.
    """
    omega_tau = speed_m_s / (0.5 * STROKE_M) * c_n_s_m / stiffness_n_m
    lag = np.arctan(omega_tau)

    def force(x: Array, v: Array) -> Array:
        behind = v * np.cos(lag) + x / (0.5 * STROKE_M) * speed_m_s * np.sin(lag)
        return np.asarray(c_n_s_m * behind / np.hypot(1.0, omega_tau) + friction_n * np.tanh(v / SHARP_M_S) - GAS_N)

    return sine_loop(force, speed_m_s)


def bounds_of(
    force: Force, speeds_m_s: tuple[float, ...], delay_s: float = 0.0, noise_n: float = 0.0
) -> FrictionBounds:
    loops = [sine_loop(force, v, i, noise_n=noise_n, delay_s=delay_s) for i, v in enumerate(speeds_m_s)]
    return friction_bounds(loops, RESOLUTION_N)


@pytest.mark.parametrize("exponent", [1.0, 2.0])
def test_half_width_is_friction_and_force_at_each_share_of_speed(exponent: float) -> None:
    """25 N and 2000 v^n at shares of 0.1 m/s, by hand; gas and zero fall out."""
    width = half_width(sine_loop(power_law(25.0, exponent, 2000.0), 0.1), RESOLUTION_N)
    wanted = 25.0 + 2000.0 * (0.1 * SHARES) ** exponent
    assert width.mean_n == pytest.approx(wanted, abs=0.05)
    assert width.late_n == pytest.approx(wanted, abs=0.05)
    assert width.at_rest_n(exponent) == pytest.approx(25.0, abs=0.05)


def test_two_stages_of_a_bleed_bracket_friction_from_above() -> None:
    """Force with the square of speed, extrapolated as such: the friction itself, 2 N and 1 % of the force on top."""
    found = bounds_of(power_law(25.0, 2.0, 2000.0), (0.15, 0.3))
    assert found.bracket_n is not None
    assert 25.0 <= found.bracket_n[1] == pytest.approx(25.0, abs=0.02 * (25.0 + 2000.0 * 0.15**2))
    assert found.bracket_n[0] <= 25.0 <= found.at_most_n


@pytest.mark.parametrize("exponent", [0.5, 1.0, 1.5, 2.0])
def test_one_slow_stage_brackets_friction_beside_any_power_law(exponent: float) -> None:
    found = bounds_of(power_law(25.0, exponent, 200.0), (0.05,))
    assert found.bracket_n is not None
    assert found.bracket_n[0] <= 25.0 <= found.bracket_n[1]


def test_two_fast_stages_of_a_leak_give_a_bound_alone() -> None:
    """Straight in speed: an open valve could do the same."""
    assert bounds_of(power_law(25.0, 1.0, 2000.0), (0.15, 0.3)).bracket_n is None


@pytest.mark.parametrize("leak_n_s_m", [0.0, 500.0, 1500.0, 4000.0])
def test_a_slow_pass_brackets_friction_whatever_leaks_beside_it(leak_n_s_m: float) -> None:
    """40 N of friction and a leak of up to half as much at 5 mm/s: both are in what the slow pass reads."""
    found = bounds_of(power_law(40.0, 1.0, leak_n_s_m), (0.005,))
    assert found.bracket_n is not None
    assert found.bracket_n[0] <= 40.0 <= found.bracket_n[1]
    half_width_n = 40.0 + 0.93 * 0.005 * leak_n_s_m
    assert half_width_n - 0.3 < found.at_most_n < 1.11 * half_width_n


@pytest.mark.parametrize("delay_s", [0.001, 0.004])
def test_a_late_channel_leaves_the_bound_above_friction_and_the_bracket_about_it(delay_s: float) -> None:
    found = bounds_of(power_law(30.0, 2.0, 9000.0), (0.05, 0.1), delay_s)
    assert found.at_most_n >= 30.0
    assert found.bracket_n is not None
    assert found.bracket_n[0] <= 30.0 <= found.bracket_n[1]


@settings(deadline=None)
@given(st.floats(2.0, 150.0), st.floats(200.0, 2e4), st.floats(2e5, 2e7), st.sampled_from([0.05, 0.1, 0.3, 1.0]))
def test_a_spring_in_series_leaves_the_bound_above_friction(
    friction_n: float, c_n_s_m: float, stiffness_n_m: float, speed_m_s: float
) -> None:
    loop = behind_a_spring(friction_n, c_n_s_m, stiffness_n_m, speed_m_s)
    assert friction_bounds([loop], RESOLUTION_N).at_most_n >= friction_n


@st.composite
def valves(draw: st.DrawFn, lowest_knee_m_s: float) -> Valve:
    """Leak and bleed in any mixture, with or without a blow-off at up to 0.4 m/s."""
    knee_m_s, knee_n = draw(st.floats(lowest_knee_m_s, 0.4)), draw(st.floats(100.0, 1500.0))
    leaks = draw(st.floats(0.0, 0.99))
    shut = Valve(leak=leaks * knee_m_s / knee_n, bleed=(1 - leaks) * knee_m_s / knee_n**0.5)
    if draw(st.booleans()):
        return shut
    rate = draw(st.floats(1e-6, 1e-4))
    return replace(shut, blowoff_force=knee_n, lift_rate=rate, knee_n=draw(st.sampled_from([0.0, 0.02, 0.1])) * knee_n)


# both stages above its knee, which the mean of the two directions did not show beside a bleed
OPEN_AT_A_FIFTH = Valve(bleed=0.0034733642127882823, blowoff_force=855.0, lift_rate=7.399227657248278e-05)
LADDERS = st.sets(st.sampled_from([0.05, 0.1, 0.15, 0.2, 0.3, 0.5, 0.75, 1.0]), min_size=1, max_size=3)
FRICTION = st.floats(2.0, 200.0)
DELAY = st.sampled_from([0.0, 0.001, 0.003])
NOISE = st.sampled_from([0.0, 2.0])


@settings(max_examples=200, deadline=None)
@given(FRICTION, valves(0.02), valves(0.02), LADDERS, DELAY, NOISE)
def test_the_bound_is_never_below_friction(
    friction_n: float, rebound: Valve, compression: Valve, speeds: set[float], delay_s: float, noise_n: float
) -> None:
    """Wherever the knees are."""
    found = bounds_of(dry_and(friction_n, rebound, compression), tuple(sorted(speeds)), delay_s, noise_n)
    assert found.at_most_n >= friction_n


@settings(max_examples=200, deadline=None)
@given(FRICTION, valves(CLOSED_M_S), valves(CLOSED_M_S), LADDERS, DELAY, NOISE)
@example(2.0, Valve(bleed=0.025), OPEN_AT_A_FIFTH, {0.5, 0.75}, 0.003, 0.0)
def test_no_bracket_misses_friction(
    friction_n: float, rebound: Valve, compression: Valve, speeds: set[float], delay_s: float, noise_n: float
) -> None:
    """To the cell's resolution, with valves that are shut up to 0.1 m/s, as the bracket of one slow stage takes them."""
    found = bounds_of(dry_and(friction_n, rebound, compression), tuple(sorted(speeds)), delay_s, noise_n)
    low, high = found.bracket_n or (0.0, found.at_most_n)
    assert low - RESOLUTION_N <= friction_n <= high + RESOLUTION_N
    estimate = friction_estimate(found, None, slow_pass=False)
    assert estimate is None or estimate.low - RESOLUTION_N <= friction_n <= estimate.high + RESOLUTION_N


def test_a_knee_between_two_stages_is_not_read_as_friction() -> None:
    """Stages at 0.05 and 1.0 m/s with the blow-off between: the rise between them is no leak's."""
    rebound = Valve(leak=1.17e-3, bleed=0.0169, blowoff_force=143.6, lift_rate=2.1e-6, knee_n=1.6)
    compression = Valve(leak=3.2e-4, bleed=0.0023, blowoff_force=326.0, lift_rate=4.4e-5, knee_n=13.6)
    found = bounds_of(dry_and(120.0, rebound, compression), (0.05, 1.0))
    assert found.bracket_n is None or found.bracket_n[0] <= 120.0 <= found.bracket_n[1]


def test_one_fast_stage_beyond_its_knee_gives_a_bound_and_no_estimate() -> None:
    """A sound twin-tube at 0.5 m/s alone: its open valves hold the force up, which is no friction."""
    force = _steady()
    found = bounds_of(force, (0.5,))
    assert found.bracket_n is None
    assert friction_estimate(found, Estimate(288.0, 280.0, 296.0), slow_pass=False) is None
    unit = identify(Curves(_run(), (sine_loop(force, 0.5, cycles=6, noise_n=2.0),)))
    assert unit.friction_force_n is None
    assert unit.friction_at_most_n is not None
    assert unit.friction_at_most_n >= TWIN_TUBE.friction.sliding_n


def cornered(plateau_n: float, speed_m_s: float) -> Loop:
    """Constant speed out and back, its corners passed in a twenty-fifth of a period, behind a spring: force stays up to the
    corner, and comes up the other way in a fiftieth.
    """
    phase = np.arange(512) / 512
    at = np.array([0.0, 0.23, 0.27, 0.73, 0.77, 1.0])
    v = speed_m_s * np.interp(phase, at, [1, 1, -1, -1, 1, 1])
    force = plateau_n * np.interp(phase, [0.0, 0.25, 0.27, 0.75, 0.77, 1.0], [1, 1, -1, -1, 1, 1])
    period_s = STROKE_M / speed_m_s * 2
    x = np.cumsum(v) * period_s / 512
    stage = Stage(0, 0, 2048, 1 / period_s, 4, float(np.ptp(x)))
    tiled = np.tile(force, (4, 1))
    return Loop(stage, x - x.mean(), v, np.zeros(512), tiled, 1, velocity_window=0.02)


@pytest.mark.parametrize("speeds_m_s", [(0.1,), (0.05, 0.15)])
def test_a_drive_with_corners_gives_a_bound_and_no_bracket(speeds_m_s: tuple[float, ...]) -> None:
    """10 N of friction and valves that are open from 300 N on: nothing runs down, so nothing shows that they are."""
    found = friction_bounds([cornered(310.0 + 2000.0 * v, v) for v in speeds_m_s], RESOLUTION_N)
    assert found.bracket_n is None
    assert found.at_most_n >= 10.0


def test_the_same_unit_with_a_slow_pass_has_an_estimate_that_holds_its_friction() -> None:
    force = _steady()
    loops = tuple(sine_loop(force, v, i, noise_n=1.0) for i, v in enumerate((0.005, 0.05, 0.1, 0.2, 0.3, 0.6, 1.0)))
    friction = identify(Curves(_run(), loops)).friction_force_n
    assert friction is not None
    assert friction.value == pytest.approx(TWIN_TUBE.friction.sliding_n, abs=3.0)


@pytest.mark.parametrize(
    ("bracket", "estimate"),
    [
        (None, None),
        ((0.0, 30.0), None),  # reaches zero
        ((10.0, 60.0), None),  # wider than half of its middle
        ((20.0, 30.0), (20.0, 25.0, 30.0)),
        ((2.0, 12.0), (2.0, 7.0, 12.0)),  # narrow in newtons
    ],
)
def test_an_estimate_only_from_a_narrow_bracket(
    bracket: tuple[float, float] | None, estimate: tuple[float, float, float] | None
) -> None:
    found = friction_estimate(FrictionBounds(80.0, bracket), None, slow_pass=False)
    assert (None if found is None else (found.low, found.value, found.high)) == estimate


def test_with_a_slow_pass_the_fit_counts_up_to_the_bound() -> None:
    found = friction_estimate(FrictionBounds(40.0, (0.0, 40.0)), Estimate(50.0, 30.0, 70.0), slow_pass=True)
    assert found is not None
    assert found.value == found.high == 40.0
    assert found.low == pytest.approx(50.0 - np.hypot(20.0, 0.1 * 40.0))
    assert friction_estimate(FrictionBounds(40.0, None), Estimate(0.0, -5.0, 5.0), slow_pass=True) is None


def _steady() -> Force:
    """The made-up twin-tube's steady force, friction in, gas as it is (negative in tension)."""

    def force(x: Array, v: Array) -> Array:
        out, back = (bench_reading(TWIN_TUBE, d, np.abs(v)) for d in DIRECTIONS)
        return np.asarray(np.where(v > 0, out, -back) + TWIN_TUBE.gas_force_n)

    return force


def _run() -> Run:
    return replace(some_run(), force_resolution_n=RESOLUTION_N)
