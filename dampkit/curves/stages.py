"""Stages: stretches of motion that repeats itself, whatever its shape, cut to whole cycles."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import numpy as np

from dampkit.bench.run import Run
from dampkit.curves.groups import Group, groups, sweeps
from dampkit.curves.loop import Stage
from dampkit.curves.single import single_cycle
from dampkit.curves.stretch import SHORT_OF_ONE, Stretch, at, goes_on, rows
from dampkit.curves.turning import HalfStrokes, half_strokes
from dampkit.errors import CannotAnalyse
from dampkit.frozen import frozen
from dampkit.quantities import median

FOLLOWS = 0.03  # a stage goes on while the motion is within this share of its stroke from the cycle before it ...
FOLLOWS_AT_BEST = 0.002  # ... and never asked to be closer than this, however still the bench
SHORT_GROUP = 5  # half-strokes; a shorter group must have an end on both sides
AROUND = 10  # half-strokes before and after a group that show whether it is part of a sweep
INSIDE_A_SWEEP = 0.3  # least ratio of the change inside a group to that around it
SINGLE_SEARCHES = 500  # more half-strokes alone than this are no programme of single cycles
ROWS_PER_CYCLE = 24  # a cycle with fewer rows has no loop worth the name
LEAST_TRAVEL = 0.8  # of the stroke, within the whole cycles
FIT_ROWS = 4_000
ROUGH_ROWS = 1_000
PERIOD_ROUNDS = 2
SLOPE_SPAN = 0.02  # of a period to both sides, over which a speed is read
LONGEST_OVERLAP = 0.6  # of a period; stretches that share more are one motion ...
OVERLAP_OF_ONE = 0.1  # ... and this where one of them is a single cycle


@frozen
class Motion:
    """A run's half-strokes, the groups that they form, and the stretches that became `stages`, in time order."""

    halves: HalfStrokes
    groups: tuple[Group, ...]
    stretches: tuple[Stretch, ...]
    stages: tuple[Stage, ...]


def find_motion(run: Run) -> Motion:
    """The stages of a run, and what the rest of its motion is.

    Half-strokes alike in stroke, duration and shape form a group; a group goes on, beyond its turning points, as
    far as the motion is that of one period before. Half-strokes alone may be a single cycle, see `single`.
    Raises CannotAnalyse where no whole cycle of steady motion is found.
    Source: own; checked on motions in closed form.
    """
    halves = half_strokes(run)
    found = groups(halves, run.sample_interval_s)
    kept: list[Stretch] = []
    for i, group in enumerate(found):
        if group.kind == "stage":
            stretch = _followed(run, halves, group)
            sure = (len(group) >= SHORT_GROUP and not group.drifts) or _beside(found, i)
            if not _in_a_sweep(halves, group) and (sure or not goes_on(run, stretch)):
                kept.append(stretch)
    kept = _apart(kept)
    kept = _apart([*kept, *_singles(run, halves, found, kept)])
    cut = [(s, stage) for s in kept if (stage := _cut(run, s)) is not None]
    if not cut:
        raise _no_stage(run, halves, too_few_rows=bool(kept))
    stages = tuple(replace(stage, index=i) for i, (_, stage) in enumerate(cut))
    return Motion(halves, tuple(found), tuple(s for s, _ in cut), stages)


def _in_a_sweep(halves: HalfStrokes, group: Group) -> bool:
    """Whether a group is a piece of a sweep: the speed changes inside it as it does around it, not in steps."""
    around = max(0, group.first - AROUND), min(len(halves), group.stop + AROUND)
    if not sweeps(halves, *around):
        return False
    inside, outside = (
        median(np.diff(halves.passed_s[a:b:2, -1] - halves.passed_s[a:b:2, 0]))
        for a, b in ((group.first, group.stop), around)
    )
    return inside * outside > INSIDE_A_SWEEP * outside**2


def _beside(found: list[Group], i: int) -> bool:
    """Whether the motion before and after a group is another stage's, at most one half-stroke away."""
    near = [
        other.kind == "stage" and (0 <= found[i].first - other.stop <= 1 or 0 <= other.first - found[i].stop <= 1)
        for other in found[max(0, i - 2) : i + 3]
        if other is not found[i]
    ]
    return sum(near) >= 2


def _followed(run: Run, halves: HalfStrokes, group: Group) -> Stretch:
    """A group with as much of the motion around it as repeats the group's own, one period later or earlier."""
    # a rest may be at the outer turning points, so from near them
    first, last = float(halves.passed_s[group.first, 0]), float(halves.passed_s[group.stop - 1, -1])
    period = group.period_s
    t = rows(run, first + period, last, ROUGH_ROWS)
    rest = at(run, t) - at(run, t - period)
    close = max(FOLLOWS_AT_BEST, 1.3 * float(max(6 * np.std(rest), np.abs(rest).max())) / group.stroke_m)
    away_m = min(FOLLOWS, close) * group.stroke_m
    slack = away_m / group.top_speed_m_s  # the time it takes to be seen off the cycle before
    before = rows(run, first - period, first, FIT_ROWS)
    off = np.flatnonzero(np.abs(at(run, before) - at(run, before + period)) > away_m)
    begin = float(before[min(off[-1] + 1, before.size - 1)] + slack if off.size else before[0])
    after = rows(run, last, last + period, FIT_ROWS)
    off = np.flatnonzero(np.abs(at(run, after) - at(run, after - period)) > away_m)
    end = float(after[max(off[0] - 1, 0)] - slack if off.size else after[-1])
    return Stretch(begin, end, _period(run, begin, end, period), group.stroke_m)


def _period(run: Run, begin_s: float, end_s: float, period_s: float) -> float:
    """The period [s] at which the motion best repeats itself over as many cycles as there are, from a good guess.

    x(t + m T) - x(t) = v m (T - true T) to first order: least squares over the rows. Source: own; asks no shape.
    """
    lags = max(1, int((end_s - begin_s) / period_s - 0.5))
    for _ in range(PERIOD_ROUNDS):
        t = rows(run, begin_s, end_s - lags * period_s, FIT_ROWS)
        later = at(run, t + lags * period_s) - at(run, t)
        speed = at(run, t + SLOPE_SPAN * period_s) - at(run, t - SLOPE_SPAN * period_s)
        speed /= 2 * SLOPE_SPAN * period_s
        speed, later = speed - speed.mean(), later - later.mean()
        late = float(speed @ later / max(float(speed @ speed), 1e-300)) / lags
        period_s -= float(np.clip(late, -0.05 * period_s, 0.05 * period_s))
    return period_s


def _singles(run: Run, halves: HalfStrokes, found: list[Group], kept: list[Stretch]) -> list[Stretch]:
    """The single cycles among half-strokes that are in no stage: by two first, then by one."""
    alone = [i for group in found if group.kind == "alone" for i in range(group.first, group.stop)]
    if len(alone) > SINGLE_SEARCHES:
        return []
    tries = [(i, i + 2) for i, k in pairwise(alone) if k == i + 1] + [(i, i + 1) for i in alone]
    cycles = (single_cycle(run, halves, first, stop, kept) for first, stop in tries)
    return [c for c in cycles if c is not None]


def _apart(found: list[Stretch]) -> list[Stretch]:
    """In time order, no two on the same rows: neighbours that meet are parted in the middle; of two on much the same
    rows the one with more cycles stays."""
    kept: list[Stretch] = []
    for s in sorted(found, key=lambda s: -s.cycles):
        if not any(_much_the_same(s, k) for k in kept):
            kept.append(s)
    kept.sort(key=lambda s: s.begin_s)
    for i in range(1, len(kept)):
        a, b = kept[i - 1 : i + 1]
        if a.end_s > b.begin_s:
            middle = 0.5 * (a.end_s + b.begin_s)
            kept[i - 1 : i + 1] = [replace(a, end_s=middle), replace(b, begin_s=middle)]
    return kept


def _much_the_same(s: Stretch, k: Stretch) -> bool:
    """Whether two stretches share more than the half-stroke in which one may go over into the other."""
    share = OVERLAP_OF_ONE if s.single or k.single else LONGEST_OVERLAP
    return min(s.end_s, k.end_s) - max(s.begin_s, k.begin_s) > share * min(s.period_s, k.period_s)


def _cut(run: Run, stretch: Stretch) -> Stage | None:
    """The whole cycles of a stretch, in its middle; None where there is none, or too few rows a cycle."""
    cycles, period = stretch.cycles, stretch.period_s
    begin = stretch.begin_s + max(0.0, 0.5 * (stretch.end_s - stretch.begin_s - cycles * period))
    end = min(begin + cycles * period, stretch.end_s)
    start, stop = (int(k) for k in np.searchsorted(run.time_s, [begin, end]))
    if cycles < 1 or stop - start < cycles * ROWS_PER_CYCLE * (1 - SHORT_OF_ONE):
        return None
    if np.ptp(run.displacement_m[start:stop]) < LEAST_TRAVEL * stretch.stroke_m:
        return None
    temperature = None if run.temperature_c is None else float(np.mean(run.temperature_c[start:stop]))
    return Stage(0, start, stop, 1 / period, cycles, stretch.stroke_m, temperature)


def _no_stage(run: Run, halves: HalfStrokes, too_few_rows: bool) -> CannotAnalyse:
    count = len(halves)
    if too_few_rows:
        what, do = f"fewer than {ROWS_PER_CYCLE} rows a cycle", "log more rows a second, or run slower"
    elif sweeps(halves, 0, count):
        what = "a sweep: the speed changes from cycle to cycle, and none is repeated"
        do = "run stages instead: three cycles or more at each of a few constant speeds, and one slow cycle"
    elif count > SHORT_GROUP:
        what = (
            "no full cycle of steady motion: strokes or speeds differ from one stroke to the next, as in random motion"
        )
        do = "run stages instead: three cycles or more at each of a few constant speeds, and one slow cycle"
    else:
        what = "no full cycle of steady motion"
        do = "log at least one full cycle a speed; check which column is the displacement with `dampkit look`"
    return CannotAnalyse(run.file, what, "at least one whole stroke out and back at constant amplitude and speed", do)
