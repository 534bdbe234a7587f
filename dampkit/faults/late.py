"""Measures of force that arrives late after a reversal: lost motion, softness, growth with speed, clearing with strokes."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np

from dampkit.curves.loop import Loop
from dampkit.damper.areas import rod_area_m2, working_area_m2
from dampkit.damper.between import both_ways_n
from dampkit.damper.fit import TAKEN_OUT
from dampkit.damper.take_up import (
    HALF,
    SAME_SPEED,
    SLOW_BAND_M_S,
    TAKEN_UP,
    TakeUp,
    lost_motion_mm,
    slow_take_ups,
    take_up,
)
from dampkit.faults.finding import Measure, Span
from dampkit.faults.held_gas import GIVE_SHARE, MIDDLING_M_S, HeldGas, give_m_n, held_gas
from dampkit.faults.play import play_of, rod_follows
from dampkit.faults.under_test import UnderTest
from dampkit.quantities import DIRECTIONS, OTHER, Z95, Array, Direction, student_95

# Share of a twin tube's gas that is above the piston, where rebound feels it too. Of a void what was carried over with the
# oil, 0 to 0.48 on made-up units of many sizes that let 0.05 to 5 times its share go; of bubbles all through the oil
# 0.2 to 0.55, by where the piston stands. So a share that both may have tells little. Own.
ABOVE_LIMIT_RATIO, ABOVE_ERROR = 0.29, 0.07
# Of other kinds: share of the late travel that the other direction stores too. Of a void only carried gas, up to about 0.08 on two
# made-up plants; of bubbles all through the oil A_rod / (2 A_bore - A_rod), 0.09 to 0.12 with the piston in the middle,
# since the rod works against both chambers and the annulus against one. Own.
SOFT_LIMIT_RATIO = 0.09
WITH_PLACE_LIMIT = 0.5  # half-way between bubbles and a void; own
PLAY_SHARE = 1.0 / 3**0.5  # standard uncertainty of the play that one reversal shows: anything from none to twice
SOFT_SHARE = 0.01  # standard uncertainty of that share
SOFT_SHARE_ALONE = 0.1  # ... where one slow stage alone shows it
SPEEDS_APART = 4.0  # ratio of speeds that shows a void from bubbles
SPRING_MM_N = 5e-4  # own: give of bush and oil column of a soft unit, 2 MN/m; it is no gas
STORED_MM = 0.1  # standard uncertainty of a stored travel
GROWS_MM = 0.5  # standard uncertainty of a growth with speed
DELAY_S = TAKEN_OUT["delay_s"]  # no bench's force channel lags by more; travel in that time is the bench's
RISES_LIMIT = 1.0 - TAKEN_UP  # of the valve's force missing at mid-stroke: it has not taken up there
RISES_ERROR = 0.04  # standard uncertainty of that share: law and reading; own
AFTER_LIMIT = 0.2  # of made-up units: up to 0.19 of sound valves near their knee, 0.2 to 2 of gas; own
AFTER_ERROR = 0.04  # standard uncertainty of that share: noise and a knee; own
AFTER_SPEEDS = (0.85, 0.97)  # of the peak speed, on the way up to it and down from it; own
CLEARS_LIMIT_MM = 1.0  # common practice, no source: up to 1 mm of lost motion is good, so a change by as much counts
CLEARS_TOLD = 0.5  # standard uncertainty over the limit, up to which there is none where none is shown; own choice
CLEARS_MM = 0.15  # standard uncertainty of a fall, besides what the cycles' scatter shows
LEAST_CYCLES, MOST_CYCLES = 3, 24
FIRST_STAGES = 2  # stages after the first moving one that are looked at: air goes within about a dozen strokes


def late_measures(test: UnderTest) -> Iterator[Measure]:
    """For each direction what the take-ups show."""
    play = play_of(test)
    for direction in DIRECTIONS:
        yield from _late(test, direction, play)
        yield from _still_rises(test, direction)
        yield from _comes_after(test, direction)
        yield from _grows(test, direction)
        yield from _clears(test, direction)


def _slow(test: UnderTest, direction: Direction) -> tuple[TakeUp, ...]:
    return slow_take_ups(test.unit.side(direction).take_ups, test.unit.friction_used_n)


def _late(test: UnderTest, direction: Direction, play: float) -> Iterator[Measure]:
    """Lost motion on slow stages, play taken off, and how soft the other direction is there.

    Entering compression a twin tube's is what its gas takes up at the pressure of the reserve: what of that is seen as
    lost motion goes with the charge, and what oil and bushes give is in it.
    """
    places = held_gas(test, direction, 1e-3 * play) if direction == "compression" else ()
    if places:
        yield from _held(test, places, held_gas(test, "rebound", 1e-3 * play), play)
        return
    slow, lost = _slow(test, direction), test.unit.side(direction).lost_motion_mm
    if not slow or lost is None:
        return
    yield _late_by(test, direction, slow[-1].stage, (lost.value - play, lost.half_width / Z95, play))
    value = lost.value - play
    soft = [t for t in test.unit.side(OTHER[direction]).take_ups if t.peak_velocity_m_s <= SLOW_BAND_M_S][:2]
    if soft:
        stored = float(np.mean([1e3 * t.stored_m - SPRING_MM_N * max(t.law_n, 0.0) for t in soft])) - play
        limit = SOFT_LIMIT_RATIO * max(value, test.facts.late_limit_mm)
        apart = len(soft) > 1 or _speeds_apart(test)
        doubt = float(np.hypot(STORED_MM, (SOFT_SHARE if apart else SOFT_SHARE_ALONE) * value))
        yield Measure(
            "soft", stored, doubt, "mm", limit, "statistical", direction=OTHER[direction], stage=soft[0].stage
        )


def _late_by(test: UnderTest, direction: Direction, stage: int, read: tuple[float, float, float]) -> Measure:
    """A value with its standard uncertainty, and the play that is off it, mm."""
    value, error, play = read
    shared = PLAY_SHARE * play if rod_follows(test) else 0.0
    error = float(np.hypot(error, shared))  # one reversal shows between none and twice of the play
    span = (Span(direction, 1e-3 * max(value, 0.0)),) if value > 0 else ()
    return Measure(
        "late",
        value,
        error,
        "mm",
        test.facts.late_limit_mm,
        "common practice",
        direction=direction,
        stage=stage,
        spans=span,
    )


def _seen(test: UnderTest, play: float) -> Iterator[tuple[float, float]]:
    """Lost motion entering compression [mm] with its standard uncertainty; play, and what oil and bushes give, taken off.

    None that cannot be told from nothing: it would be no surer than gas that was read.
    """
    slow, delay = _slow(test, "compression"), test.unit.channel_delay_s
    if not slow:
        return
    give = give_m_n(test, "compression")
    error_s = 0.0 if delay is None else delay.half_width / Z95
    lost = lost_motion_mm(slow, test.unit.friction_used_n, error_s, test.unit.level_error_n, give_m_n=give)
    if lost is not None:
        given = 1e3 * give * HALF * float(np.mean([t.law_n for t in slow]))
        value, error = lost.value - play, float(np.hypot(lost.half_width / Z95, GIVE_SHARE * given))
        if value > Z95 * error:
            yield value, error


def _held(test: UnderTest, places: Sequence[HeldGas], above: Sequence[HeldGas], play: float) -> Iterator[Measure]:
    """The same of a twin tube by the gas that it holds; and whether that changes with the place of the stroke.

    Where that is not surely too much, lost motion stands if it is the surer: a charge hides a part of it, but it hangs less
    on the flow that the law tells.
    Gas above the piston is what rebound stores, on the annulus; all of it is what compression does, on the rod.
    """
    here, ring, rod = places[0], working_area_m2(test.spec, "rebound"), rod_area_m2(test.spec)
    limit = test.facts.late_limit_mm
    value, error = 1e3 * here.travel_m, 1e3 * here.error_m
    if value - limit < Z95 * error:
        value, error = max([(value, error), *_seen(test, play)], key=lambda r: (r[0] - limit) / r[1])
    yield _late_by(test, "compression", here.stage, (value, error, play))
    if above and ring is not None and rod is not None:
        over = max(value, 1e3 * here.travel_m, limit) * rod / ring
        doubt = max(1e3 * above[0].error_m, ABOVE_ERROR * over)  # the shares above were read with such errors
        yield Measure(
            "soft", 1e3 * above[0].travel_m, doubt, "mm", ABOVE_LIMIT_RATIO * over, "statistical",
            direction="rebound", stage=above[0].stage,
        )  # fmt: skip
    if len(places) > 1:
        yield from _with_place(here, places[-1])


def _with_place(out: HeldGas, further_in: HeldGas) -> Iterator[Measure]:
    """How much the gas changes with the outer end of the stroke, over what a void does: 1 of a void, 0 of bubbles.

    A void is the rod that comes out of a bare foot valve: as much less as the stroke ends further in, down to none.
    """
    void_m = min(out.outer_m - further_in.outer_m, out.travel_m)
    if out.travel_m <= 2.0 * out.error_m:
        return
    error = float(np.hypot(out.error_m, further_in.error_m)) / void_m
    changes = (out.travel_m - further_in.travel_m) / void_m
    yield Measure(
        "with_place", changes, error, "", WITH_PLACE_LIMIT, "statistical", direction="compression", stage=out.stage
    )


def _still_rises(test: UnderTest, direction: Direction) -> Iterator[Measure]:
    """Share of the valve's force still missing at mid-stroke, on the slow or middling stage that has most of it.

    A void closes on the way, and the whole force is there; bubbles give way as long as force rises. Source: own, from
    p V^n of a closed amount of gas; checked on made-up twin tubes.
    """
    friction = test.unit.friction_used_n
    stages = [
        t for t in test.unit.side(direction).take_ups
        if t.peak_velocity_m_s <= MIDDLING_M_S * (1 + SAME_SPEED) and t.law_n > friction
    ]  # fmt: skip
    if stages:
        best = max(stages, key=lambda t: t.reached_ratio)
        yield Measure(
            "still_rises", 1.0 - best.reached_ratio, RISES_ERROR, "", RISES_LIMIT, "statistical", direction=direction,
            stage=best.stage, velocity_m_s=best.peak_velocity_m_s, direct=False,
        )  # fmt: skip


def _comes_after(test: UnderTest, direction: Direction) -> Iterator[Measure]:
    """How much more force there is just after mid-stroke than just before it at the same speeds, over the mean of both; of
    the stage that shows most of it.

    Gas that is still being closed at mid-stroke, or a chamber that is still filling, takes oil from the valve, and the force
    goes on rising; a valve alone makes the same on both sides. Source: own, from the continuity of oil between piston and
    valve, [merritt1967] ch. 3; checked on made-up units.
    """
    most_s = _delay_left(test)[2]
    made = []
    for loop in test.moving:
        before, after = _about_mid_stroke(test, loop, direction)
        mean = 0.5 * (before + after)
        if mean > 2.0 * test.unit.friction_used_n:
            turn = loop.peak_velocity_m_s / (0.5 * loop.stage.stroke_m)  # rad/s
            made.append(((after - before) / mean, AFTER_LIMIT + most_s * turn, loop))
    if made:
        share, limit, loop = max(made, key=lambda m: m[0] - m[1])
        yield Measure(
            "comes_after", share, AFTER_ERROR, "", limit, "statistical", direction=direction, stage=loop.stage.index,
            velocity_m_s=loop.peak_velocity_m_s,
        )  # fmt: skip


def _about_mid_stroke(test: UnderTest, loop: Loop, direction: Direction) -> tuple[float, float]:
    """Mean hydraulic force at speeds near the peak, before and after it."""
    low, high = AFTER_SPEEDS
    speeds = loop.peak_velocity_m_s * np.linspace(low, high, 12)
    ways = both_ways_n(loop, test.unit.taken_out, direction, speeds)
    return float(ways[0].mean()), float(ways[1].mean())


def _speeds_apart(test: UnderTest) -> bool:
    speeds = [loop.peak_velocity_m_s for loop in test.moving]
    return max(speeds) >= SPEEDS_APART * min(speeds)


def _grows(test: UnderTest, direction: Direction) -> Iterator[Measure]:
    """Travel to a fifth of the force, fastest less slowest stage, beyond what a channel delay makes."""
    stages = sorted(test.unit.side(direction).take_ups, key=lambda t: t.peak_velocity_m_s)
    if len(stages) < 3:
        return
    left_s, error_s, most_s = _delay_left(test)
    slow, fast = stages[0], max(stages[1:], key=lambda t: t.early_m - (left_s + most_s) * t.peak_velocity_m_s)
    speed = 1e3 * fast.peak_velocity_m_s
    grown = 1e3 * (fast.early_m - min(slow.early_m, stages[1].early_m)) - left_s * speed
    spans = (Span(direction, fast.early_m),)
    yield Measure(
        "late_grows", grown, float(np.hypot(GROWS_MM, error_s * speed)), "mm", test.facts.late_limit_mm + most_s * speed,
        "common practice", direction=direction, stage=fast.stage, velocity_m_s=fast.peak_velocity_m_s, spans=spans,
    )  # fmt: skip


def _delay_left(test: UnderTest) -> tuple[float, float, float]:
    """Channel delay that is left in the loops [s], its standard uncertainty, and what it may be where it is not known."""
    known = test.unit.channel_delay_s
    if known is None or known.half_width > DELAY_S:
        return 0.0, 0.0, DELAY_S
    return (0.0 if test.unit.taken_out.delay_s else max(known.value, 0.0)), known.half_width / Z95, 0.0


def _clears(test: UnderTest, direction: Direction) -> Iterator[Measure]:
    """Stored travel that goes over the cycles of the first stages, added up."""
    falls = [f for f in (_fall_mm(test, loop, direction) for loop in first_stages(test, direction)) if f is not None]
    if not falls:
        return
    drop, spread = sum(f[0] for f in falls), float(np.sqrt(sum(f[1] ** 2 for f in falls)))
    doubt = float(np.hypot(spread, CLEARS_MM))
    if drop < CLEARS_LIMIT_MM and doubt > CLEARS_TOLD * CLEARS_LIMIT_MM:
        return  # none is shown, and the cycles scatter too much to say that there is none
    stage = test.moving[0].stage.index
    yield Measure(
        "late_clears", drop, doubt, "mm", CLEARS_LIMIT_MM, "common practice", direction=direction, stage=stage
    )


def first_stages(test: UnderTest, direction: Direction) -> list[Loop]:
    """The first stages of several cycles in which the valve's force is larger than friction."""
    friction = test.unit.friction_used_n
    seen = {t.stage for t in test.unit.side(direction).take_ups if t.law_n > friction and t.reached_ratio > 0.5}
    loops = [loop for loop in test.moving if loop.stage.index in seen and loop.stage.cycles >= LEAST_CYCLES]
    return [loop for loop in loops if loop.stage.index <= test.moving[0].stage.index + FIRST_STAGES]


def _fall_mm(test: UnderTest, loop: Loop, direction: Direction) -> tuple[float, float] | None:
    """How much the stored travel falls over the cycles of a stage, by a straight line, and its standard uncertainty.

    None where more would be stored than the travel itself: there the law does not hold. Oil that warms lowers the whole
    force, which looks like a fall over all of the travel: so much is open. Few cycles: Student [jcgm100] G.3.
    """
    law = test.unit.side(direction).law
    if law is None:
        return None
    cycles = np.vstack([loop.run_in_force_n, loop.force_n])[:MOST_CYCLES]
    made = (take_up(loop, test.unit.taken_out, law.valve, direction, force) for force in cycles)
    found = [t for t in made if t is not None]
    if len(found) < LEAST_CYCLES or any(t.stored_m > t.travel_m[-1] for t in found):
        return None
    fall, error = _fall(1e3 * np.array([t.stored_m for t in found]))
    weakened = max(0.0, _fall(np.array([t.reached_ratio for t in found]))[0])
    return fall, float(np.hypot(error, weakened * 1e3 * float(found[0].travel_m[-1])))


def _fall(values: Array) -> tuple[float, float]:
    """How much a series falls from first to last, by a straight line, and its standard uncertainty."""
    count = np.arange(values.size) - 0.5 * (values.size - 1)
    slope = float(count @ values / (count @ count))
    rest = values - values.mean() - slope * count
    error = float(np.sqrt(rest @ rest / (values.size - 2) / (count @ count)))
    return -slope * (values.size - 1), student_95(values.size - 2) / Z95 * error * (values.size - 1)
