"""Stages: stretches of constant amplitude and frequency, cut to whole cycles."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from dampkit.bench.run import Run
from dampkit.curves.harmonics import Periodic, fit_periodic
from dampkit.curves.loop import Stage
from dampkit.curves.turning import HalfStrokes, half_strokes
from dampkit.errors import CannotAnalyse
from dampkit.quantities import Array, Mask

SAME_STROKE = 0.03  # half-strokes of one stage agree so well in stroke ...
SAME_DURATION = 0.05  # ... and, with the one before the last (same direction), in duration
FOLLOWS = 0.03  # a stage goes on while the motion is within this share of its stroke from the periodic shape
FOLLOWS_AT_BEST = 0.002  # ... and never asked to be closer than this, however still the bench
FOLLOWS_CLOSELY = 0.005  # ... or this, where one cycle is all there is
ROUNDS = 3  # of fitting the shape and following it
MARGIN = 0.04  # of a period, left out at both ends while the ends are not known well
SHORT_OF_ONE = 0.06  # of a cycle that a single one may lack where the crank comes up to speed within it ...
SHORT_OF_MORE = 0.02  # ... and that several may lack together
# How far past the end of one or two cycles is looked at, in periods, and between which shares of the cycle's own travel
# the motion goes on: a crank that stops evenly within 0.05 of a period covers at most 0.88, 0.70 and 0.42 of them.
BEYOND = ((0.012, 0.3), (0.03, 0.75), (0.06, 0.6))
MOST_BEYOND = 1.8
ROWS_PER_CYCLE = 24  # a cycle with fewer rows has no loop worth the name
FIT_ROWS = 4_000
ROUGH_ROWS = 1_000  # are enough to follow the shape before it is fitted for good


@dataclass(frozen=True)
class Stretch:
    """A candidate: times of its first and last turning point, and how many half-strokes lie between."""

    first_s: float
    last_s: float
    count: int
    stroke_m: float


def find_stages(run: Run) -> tuple[Stage, ...]:
    """The stages of a run in time order, each cut to whole cycles.

    Raises CannotAnalyse where no whole cycle of steady motion is found.
    Source: own; checked against logs with known stages.
    """
    found = [s for s in (_cut(run, stretch) for stretch in _stretches(half_strokes(run))) if s is not None]
    if not found:
        raise CannotAnalyse(
            run.file,
            "no full cycle of steady motion",
            "at least one whole stroke out and back at constant amplitude and speed",
            "log at least one full cycle a speed; check which column is the displacement with `dampkit look`",
        )
    found = _without_overlap(found)
    return tuple(Stage(i, *s) for i, s in enumerate(found))


StageCut = tuple[int, int, float, int, float, float | None]


def _stretches(halves: HalfStrokes) -> list[Stretch]:
    """Runs of half-strokes alike in stroke and duration; a lone one counts too."""
    if not len(halves):
        return []
    stroke, duration = halves.stroke_m.tolist(), halves.duration_s.tolist()
    so_far = np.concatenate([[0.0], np.cumsum(halves.stroke_m)]).tolist()
    firsts = [0]
    for i in range(1, len(stroke)):
        first = firsts[-1]
        mean = (so_far[i] - so_far[first]) / (i - first)
        # held against the last one the same way where there is one: out and back may differ where the drive slows
        before, slack = (duration[i - 1], 4 * SAME_DURATION) if i - first == 1 else (duration[i - 2], SAME_DURATION)
        if abs(stroke[i] / mean - 1) >= SAME_STROKE or abs(duration[i] / before - 1) >= slack:
            firsts.append(i)
    ends = halves.start_s + halves.duration_s
    return [
        Stretch(float(halves.start_s[a]), float(ends[b - 1]), b - a, (so_far[b] - so_far[a]) / (b - a))
        for a, b in zip(firsts, [*firsts[1:], len(stroke)], strict=True)
    ]


def _cut(run: Run, stretch: Stretch) -> StageCut | None:
    """Extend a stretch as far as the motion follows its periodic shape, then cut to whole cycles."""
    period = 2 * (stretch.last_s - stretch.first_s) / stretch.count
    lone = stretch.count < 4  # less than two cycles show little of their shape, and must be followed closely
    shape = _shape(run, stretch.first_s, stretch.last_s, 1 / period, 1 if lone else 4, ROUGH_ROWS)
    if shape is None:
        return None
    begin, end = _follow(run, shape, stretch, 2 * FOLLOWS if lone else FOLLOWS)
    for k in range(ROUNDS):
        margin, most = MARGIN / shape.frequency_hz, FIT_ROWS if k == ROUNDS - 1 else ROUGH_ROWS
        shape = _shape(run, begin + margin, end - margin, shape.frequency_hz, 2 if lone else 4, most) or shape
        loosest = FOLLOWS_CLOSELY if lone else FOLLOWS
        begin, end = _follow(run, shape, stretch, min(loosest, _closest(run, shape, stretch)))
    period = 1 / shape.frequency_hz
    spanned = (end - begin) / period
    cycles = int(spanned + (SHORT_OF_ONE if spanned < 1.5 else SHORT_OF_MORE))
    followed = begin, end
    begin += 0.5 * (end - begin - cycles * period)
    start, stop = (int(k) for k in np.searchsorted(run.time_s, [begin, begin + cycles * period]))
    if cycles < 1 or stop - start < cycles * ROWS_PER_CYCLE:
        return None
    ends = min(begin, followed[0]), max(begin + cycles * period, followed[1])
    if cycles <= 2 and (_goes_on(run, shape, ends[0], -period) or _goes_on(run, shape, ends[1], period)):
        return None
    rows = slice(start, stop)
    temperature = None if run.temperature_c is None else float(np.mean(run.temperature_c[rows]))
    return start, stop, shape.frequency_hz, cycles, shape.stroke_m, temperature


def _shape(run: Run, begin: float, end: float, frequency_hz: float, harmonics: int, rows: int) -> Periodic | None:
    start, stop = np.searchsorted(run.time_s, [begin, end])
    step = max(1, int(stop - start) // rows)
    t, x = run.time_s[start:stop:step], run.displacement_m[start:stop:step]
    if t.size < ROWS_PER_CYCLE // 2:
        return None
    return fit_periodic(t, x, frequency_hz, harmonics)


def _follow(run: Run, shape: Periodic, stretch: Stretch, share: float) -> tuple[float, float]:
    """First and last time, within one period of the stretch, up to which the motion stays on the shape."""
    period = 1 / shape.frequency_hz
    slack = share * shape.stroke_m / shape.peak_speed_m_s  # the time it takes to be seen off the shape
    t, off = _off(run, shape, stretch.first_s - period, stretch.first_s + 0.25 * period, share)
    before = np.flatnonzero(off)
    begin = t[min(before[-1] + 1, t.size - 1)] + slack if before.size else t[0]
    t, off = _off(run, shape, stretch.last_s - 0.25 * period, stretch.last_s + period, share)
    after = np.flatnonzero(off)
    end = t[max(after[0] - 1, 0)] - slack if after.size else t[-1]
    return float(begin), float(end)


def _off(run: Run, shape: Periodic, begin: float, end: float, share: float) -> tuple[Array, Mask]:
    """Times of rows from `begin` to `end`, and where the motion is off the shape by more than a share of the stroke."""
    a, b = (int(k) for k in np.searchsorted(run.time_s, [begin, end]))
    rows = slice(min(a, run.rows_used - 1), max(b, a + 1), max(1, (b - a) // FIT_ROWS))
    t = run.time_s[rows]
    return t, np.abs(run.displacement_m[rows] - shape.at(t)) > share * shape.stroke_m


def _goes_on(run: Run, shape: Periodic, time_s: float, period_s: float) -> bool:
    """Whether the motion goes on much as before past an end (period_s < 0: before it): then it is part of a sweep.

    Looked at over a short and a longer time, as a short rest may hide in the longer and a turning point in the shorter.
    """
    told = []
    for share, least in BEYOND:
        ends = time_s + np.array([0.0, share * period_s])
        if not run.time_s[0] <= ends[1] <= run.time_s[-1]:
            return False
        wanted = float(np.diff(shape.at(ends))[0])
        moved = float(np.diff(np.interp(ends, run.time_s, run.displacement_m))[0])
        if abs(wanted) > FOLLOWS_CLOSELY * shape.stroke_m:
            told.append(least < moved / wanted < MOST_BEYOND)
    return bool(told) and all(told)


def _closest(run: Run, shape: Periodic, stretch: Stretch) -> float:
    """Share of the stroke within which the motion stays on the shape between the stretch's turning points."""
    a, b = np.searchsorted(run.time_s, [stretch.first_s, stretch.last_s])
    step = max(1, int(b - a) // FIT_ROWS)
    rest = run.displacement_m[a:b:step] - shape.at(run.time_s[a:b:step])
    return max(FOLLOWS_AT_BEST, 1.3 * float(max(6 * np.std(rest), np.abs(rest).max())) / shape.stroke_m)


def _without_overlap(found: list[StageCut]) -> list[StageCut]:
    """Where two candidates claim the same rows, the one with more cycles keeps them."""
    kept: list[StageCut] = []
    for s in sorted(found, key=lambda s: -s[3]):
        if all(s[1] <= k[0] or s[0] >= k[1] for k in kept):
            kept.append(s)
    return sorted(kept)
