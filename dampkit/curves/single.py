"""A single cycle: out and back once, of any shape, between rests, the log's ends or other stages."""

from __future__ import annotations

import numpy as np

from dampkit.bench.run import Run
from dampkit.curves.stretch import Stretch, at, rows
from dampkit.curves.turning import HalfStrokes
from dampkit.frozen import frozen
from dampkit.quantities import Array, median

LEVELS = (12, 80)  # least and most places of the stroke at which the speeds out and back are compared ...
NOISE_APART = 12  # ... so many standard deviations of a row apart
OUTER = 0.05  # of the stroke next to a turning point, left out: dwells and shapes differ there
ENDING = 6  # steps at the far end of a part stroke over which its speed is read
SAME_SPEED = (0.7, 1.4)  # share of the reference's speed between which a part stroke is of the same cycle
OTHER_SHAPE = 3.0  # ratio of speeds out and back, at one place, that a cycle may have which is not alike out and back
SAME_CLOSELY = 1.12  # ratio of speeds, out and back or before and after, from which a cycle must end in rests
SAME_STROKE = 0.05
BEFORE, STEADY = 8, 0.04  # steps before the last one with which it agrees so well, if it is not part of a run-up
FEWEST = 3  # steps from place to place that make a part stroke
STANDS, STANDS_IN = (0.1, 0.12), 0.01  # a rest: periods or seconds, the shorter; share of the stroke stayed within
SLOWER = 0.3  # ... and of the travel at top speed in that time
LOOKS, ROWS_LOOKED_AT = 13, 200  # for a rest, over that time
BESIDE = 0.12  # of a period between a cycle and the rest, stage or end of the log next to it
GAP = 0.2  # of the stroke, that may lack where the crank comes to speed: 0.06 of a cycle at mid-stroke of a sine
UNLIKE = 2.0  # ratio of the times out and back over one part of the stroke, from which a rest or another stage is in it
QUICK_RETURN = 1.6  # ratio of the times out and back from which it is no one speed


@frozen
class Part:
    """Part of a half-stroke next to a turning point, as far as its speed is the cycle's.

    `places_m`, `times_s`: from the turning point on; `reference_s`: when the half-stroke that it is compared with passed
    there. `ratio`: of its speed to that one's. `whole`: it goes on to the next turning point.
    """

    places_m: Array
    times_s: Array
    reference_s: Array
    ratio: float
    whole: bool

    @property
    def speed_m_s(self) -> float:
        """At its far end, signed."""
        back = max(0, self.times_s.size - 1 - ENDING)
        return float((self.places_m[-1] - self.places_m[back]) / (self.times_s[-1] - self.times_s[back]))


def single_cycle(run: Run, halves: HalfStrokes, a: int, b: int, taken: list[Stretch]) -> Stretch | None:
    """The cycle that one or two half-strokes, `a` to `b` (not included), belong to, or None.

    With one, the part strokes before and after it are the other half of the cycle; their speed is compared, place by
    place, with that of the half-stroke the other way. With two the cycle is whole; part strokes only show its period.
    `taken`: other stages. Source: own.
    """
    two, stroke = b - a == 2, float(np.mean(halves.stroke_m[a:b]))
    strokes, times = halves.stroke_m[a:b], np.maximum(halves.passed_s[a:b, -1] - halves.passed_s[a:b, 0], 1e-9)
    if two:
        if abs(strokes[1] / strokes[0] - 1) > SAME_STROKE or not 1 / QUICK_RETURN < times[1] / times[0] < QUICK_RETURN:
            return None
        parts = np.maximum(np.diff(halves.passed_s[a:b], axis=1), 1e-9)
        if not (np.maximum(parts[0] / parts[1, ::-1], parts[1, ::-1] / parts[0]) < UNLIKE).all():
            return None
    before = _part(run, halves, a, -1, reference=a + 1 if two else a)
    after = _part(run, halves, b, 1, reference=b - 2 if two else a)
    # what goes on at another speed is no part of this cycle
    most = SAME_SPEED[1] if two else OTHER_SHAPE
    before, after = (p if p is not None and 1 / most < p.ratio < most else None for p in (before, after))
    if any(part is not None and part.whole for part in (before, after)):
        return None
    cycle = _closed_by_turns(run, halves, a, before, after) if two else _closed_by_parts(stroke, before, after)
    if cycle is None:
        return None
    ends = [_end(run, cycle, way, taken, halves.noise_m) for way in (-1, 1)]
    ratio = times[1] / times[0] if two else before.ratio / after.ratio if before and after else np.inf
    alike = 1 / SAME_CLOSELY < ratio < SAME_CLOSELY
    return cycle if all(ends) and (alike or "stage" not in ends) else None


def _end(run: Run, cycle: Stretch, way: int, taken: list[Stretch], noise_m: float) -> str:
    """What ends a cycle (way: -1 before, 1 after it): "stage", "log", "rest", or "" for none of these."""
    end = cycle.end_s if way > 0 else cycle.begin_s
    for other in taken:
        if abs((other.begin_s if way > 0 else other.end_s) - end) < BESIDE * cycle.period_s:
            return "stage"
    if not run.time_s[0] <= end + way * BESIDE * cycle.period_s <= run.time_s[-1]:
        return "log"
    still_s = min(STANDS[0] * cycle.period_s, STANDS[1])
    still_m = min(STANDS_IN, SLOWER * np.pi * still_s / cycle.period_s) * cycle.stroke_m
    still_m = max(still_m, NOISE_APART * noise_m)
    for late in np.linspace(0, BESIDE, LOOKS) * cycle.period_s:
        first, last = sorted((end + way * late, end + way * (late + still_s)))
        if np.ptp(at(run, rows(run, first, last, ROWS_LOOKED_AT))) <= still_m:
            return "rest"
    return ""


def _part(run: Run, halves: HalfStrokes, turn: int, way: int, reference: int) -> Part | None:
    """The part stroke on one side of a turning point (way: -1 before it, 1 after it), or None where there is none."""
    here, ends = halves.turn_m[turn], halves.turn_m[reference : reference + 2]
    near = int(abs(ends[1] - here) < abs(ends[0] - here))
    count = np.clip(abs(ends[1] - ends[0]) / (NOISE_APART * halves.noise_m + 1e-12), *LEVELS)
    levels = here + (ends[1 - near] - here) * np.linspace(OUTER, 1 - OUTER, int(count))
    edge = (0, len(halves))[way > 0]
    limit = run.time_s[0 if way < 0 else -1] if turn == edge else halves.turn_s[turn + way]
    times = _passings(run, float(halves.turn_s[turn]), float(limit), levels)
    own = _passings(run, float(halves.turn_s[reference + near]), float(halves.turn_s[reference + 1 - near]), levels)
    ratio = np.abs(np.diff(own)) / np.maximum(np.abs(np.diff(times)), 1e-9)
    known = np.isfinite(ratio)
    if not known[:FEWEST].all():
        return None
    middle = median(ratio[known][: max(FEWEST, int(known.sum()) // 2)])
    stops = np.flatnonzero(~(known & (ratio > SAME_SPEED[0] * middle) & (ratio < SAME_SPEED[1] * middle)))
    count = int(stops[0]) if stops.size else ratio.size
    whole = count == ratio.size
    while FEWEST <= count < ratio.size and not _steady_to(ratio[:count]):
        count -= 1
    if count < FEWEST:
        return None
    same = slice(0, count + 1)
    return Part(levels[same], times[same], own[same], median(ratio[:count]), whole)


def _steady_to(ratio: Array) -> bool:
    """Whether the last step of a part stroke is as fast as those before it, and not a run-up."""
    return bool(abs(ratio[-1] / median(ratio[-1 - BEFORE : -1]) - 1) < STEADY) if ratio.size > 1 else True


def _passings(run: Run, from_s: float, to_s: float, levels: Array) -> Array:
    """When the motion from one time to another (earlier or later) first passes each of rising or falling levels."""
    a, b = (int(k) for k in np.searchsorted(run.time_s, sorted((from_s, to_s))))
    a, b = max(0, a - 1), min(run.rows_used, b + 1)
    step = max(1, (b - a) // 20_000)
    t, x = run.time_s[a:b:step], run.displacement_m[a:b:step]
    if to_s < from_s:
        t, x = t[::-1], x[::-1]
    sign = 1.0 if levels[-1] > levels[0] else -1.0
    far = np.maximum.accumulate(sign * x)
    new = np.concatenate([[True], np.diff(far) > 0])
    # a level is passed in the middle between first reaching it and last falling short of it, which noise moves apart
    short = np.minimum.accumulate((sign * x)[::-1])[::-1]
    out = np.full(levels.size, np.nan)
    reached = (sign * levels <= far[-1]) & (sign * levels >= far[0])
    first = np.interp(sign * levels[reached], far[new], t[new])
    rises = np.concatenate([np.diff(short) > 0, [True]])
    last = np.interp(sign * levels[reached], short[rises], t[rises])
    out[reached] = np.where(sign * levels[reached] <= short[-1], 0.5 * (first + last), first)
    return out


def _closed_by_parts(stroke_m: float, before: Part | None, after: Part | None) -> Stretch | None:
    """One half-stroke between two part strokes: the two together must make the other half."""
    if before is None or after is None:
        return None
    speed = 0.5 * (before.speed_m_s + after.speed_m_s)
    way = np.sign(speed)
    gap = way * (before.places_m[-1] - after.places_m[-1])  # still to go, or less than 0 where they overlap
    if gap > GAP * stroke_m:
        return None
    begin, end = before.times_s[-1], after.times_s[-1]
    if gap < 0:
        level = 0.5 * (before.places_m[-1] + after.places_m[-1])
        begin, end = (float(np.interp(way * level, *_rising(way * p.places_m, p.times_s))) for p in (before, after))
        gap = 0.0
    return Stretch(float(begin), float(end), float(end - begin + gap / abs(speed)), stroke_m, single=True)


def _closed_by_turns(
    run: Run, halves: HalfStrokes, first: int, before: Part | None, after: Part | None
) -> Stretch | None:
    """Two half-strokes from turning point to turning point, and part strokes where the motion went on a little.

    Without these the time spent at the outer turning point, which a rest may hide, is taken as that at the inner one.
    """
    out, back = halves.passed_s[first], halves.passed_s[first + 1]
    turning = float(back[0] - out[-1])
    begin, end = float(out[0] - 0.5 * turning), float(back[-1] + 0.5 * turning)
    period = end - begin
    same_speed = [p for p in (before, after) if p is not None]
    if same_speed:
        period = median(np.concatenate([np.abs(p.times_s - p.reference_s) for p in same_speed]))
        begin = min(begin, *(p.times_s[-1] for p in same_speed))
        end = max(end, *(p.times_s[-1] for p in same_speed))
    begin, end = max(begin, float(run.time_s[0])), min(end, float(run.time_s[-1]))
    return Stretch(begin, end, period, float(np.mean(halves.stroke_m[first : first + 2])), single=True)


def _rising(places: Array, times: Array) -> tuple[Array, Array]:
    order = np.argsort(places)
    return places[order], times[order]
