"""Half-strokes alike in stroke, duration and shape, one after the other: the core of a stage, or a sweep."""

from __future__ import annotations

from dataclasses import replace
from typing import Literal

import numpy as np

from dampkit.curves.turning import INSIDE, HalfStrokes
from dampkit.frozen import frozen
from dampkit.quantities import Array, Mask, median

SAME_STROKE = 0.05  # half-strokes of one stage agree so well in stroke with the mean of those before ...
SAME_SPEED = 0.03  # ... in the time from near one end to near the other with those the same way ...
SAME_SHAPE = 0.08  # ... and in each part of that time with the last one the same way
AT_ITS_ENDS = 0.015  # by which the first and last half-strokes of a group may differ from its median one
DRIFTS, DRIFTS_A_CYCLE = 0.05, 0.03  # change of that time over a group, or over a cycle, that makes it part of a sweep
SLIGHTLY = 0.015  # change over a group that makes it part of a sweep where the motion goes on beside it
GROWS = 0.10  # change of stroke over a group that makes it no stage
ROWS_OFF = 0.3  # rows by which a passing may be mistimed between two
NOISE_OFF = 2.0  # standard deviations of a row by which a passing may be misplaced

NO_CHANGE = 0.002  # of the time of a half-stroke, from one to the next the same way
FEWEST_OF_A_SWEEP, ONE_WAY = 6, 0.7  # half-strokes; net share of the changes of speed that go one way

Kind = Literal["stage", "sweep", "growing", "alone"]


@frozen
class Group:
    """Half-strokes `first` to `stop` (not included). `alone`: one or two that are not repeated; `drifts`: slightly."""

    first: int
    stop: int
    kind: Kind
    period_s: float
    stroke_m: float
    top_speed_m_s: float
    drifts: bool = False

    def __len__(self) -> int:
        return self.stop - self.first


def groups(halves: HalfStrokes, row_s: float) -> list[Group]:
    """All half-strokes in groups, in time order. `row_s`: time from row to row. Source: own."""
    if not len(halves):
        return []
    parts = np.maximum(np.diff(halves.passed_s, axis=1), 1e-9)
    slack = NOISE_OFF * halves.noise_m / np.maximum(halves.stroke_m, 1e-12)
    share = np.diff(INSIDE)
    part_off = slack[:, None] / share + ROWS_OFF * row_s / parts
    whole = parts.sum(axis=1)
    whole_off = slack / share.sum() + ROWS_OFF * row_s / whole
    alike = np.zeros(len(halves), dtype=bool)
    alike[2:] = (np.abs(parts[2:] - parts[:-2]) < (SAME_SHAPE + part_off[2:]) * parts[:-2]).all(axis=1)
    firsts = _firsts(halves.stroke_m, whole, SAME_STROKE + slack, SAME_SPEED + whole_off, alike)
    found = []
    for first, stop in zip(firsts, [*firsts[1:], len(halves)], strict=True):
        found += _classified(halves, whole, whole_off, first, stop)
    return found


def _firsts(stroke: Array, whole: Array, stroke_off: Array, whole_off: Array, alike: Mask) -> list[int]:
    """Where groups begin: each half-stroke is compared with the mean of those before it in its group."""
    strokes, wholes, same = stroke.tolist(), whole.tolist(), alike.tolist()
    stroke_offs, whole_offs = stroke_off.tolist(), whole_off.tolist()
    firsts, sums, way = [0], strokes[0], [wholes[0], 0.0]
    i = 1
    while i < len(strokes):
        n = i - firsts[-1]
        fits = abs(strokes[i] * n / sums - 1) < stroke_offs[i]
        if n > 1 and fits:
            fits = same[i] and abs(wholes[i] * (n // 2) / way[n % 2] - 1) < whole_offs[i]
        if not fits:
            i = i - 1 if n == 2 else i  # of two that are not repeated the second may begin a group
            firsts.append(i)
            sums, way = strokes[i], [wholes[i], 0.0]
        else:
            sums += strokes[i]
            way[n % 2] += wholes[i]
        i += 1
    return firsts


def _classified(halves: HalfStrokes, whole: Array, off: Array, first: int, stop: int) -> list[Group]:
    """One group as a stage, with half-strokes at its ends that are not yet or no longer like the others set apart."""
    if stop - first < 3:
        return [_group(halves, first, stop, "alone")]
    like = np.ones(stop - first, dtype=bool)
    for way in (0, 1):
        same = slice(first + way, stop, 2)
        for y in (whole[same], halves.stroke_m[same]):
            like[way::2] &= np.abs(y / median(y) - 1) < AT_ITS_ENDS + off[same]
    inside = first + np.flatnonzero(like)
    a, b = (int(inside[0]), int(inside[-1]) + 1) if inside.size else (first, stop)
    if b - a < 3:
        a, b = first, stop
    slower, cycles, slack = _drift(whole[first:stop]), 0.5 * (stop - first - 1), float(np.mean(off[first:stop]))
    kind: Kind = "stage"
    if abs(slower) > DRIFTS + slack or abs(slower) / cycles > DRIFTS_A_CYCLE + slack:
        kind, a, b = "sweep", first, stop
    elif abs(_drift(halves.stroke_m[first:stop])) > GROWS + slack:
        kind, a, b = "growing", first, stop
    core = replace(_group(halves, a, b, kind), drifts=abs(_drift(whole[a:b])) > SLIGHTLY + slack)
    ends = [_group(halves, i, k, "alone") for i, k in ((first, a), (b, stop)) if k > i]
    return sorted([core, *ends], key=lambda g: g.first)


def _drift(values: Array) -> float:
    """Relative change over a group, out and back apart: of the median of its last third against that of its first."""
    even = np.log(values)
    for way in (0, 1):
        even[way::2] -= median(even[way::2])
    third = max(1, values.size // 3)
    between = (values.size - third) / (values.size - 1)
    return (median(even[-third:]) - median(even[:third])) / between


def sweeps(halves: HalfStrokes, first: int, stop: int) -> bool:
    """Whether half-strokes get faster, or slower, nearly all the time."""
    whole = np.maximum(halves.passed_s[first:stop, -1] - halves.passed_s[first:stop, 0], 1e-9)
    if whole.size < FEWEST_OF_A_SWEEP:
        return False
    steps = np.log(whole[2:] / whole[:-2])
    one_way = int(np.count_nonzero(steps > NO_CHANGE)) - int(np.count_nonzero(steps < -NO_CHANGE))
    return bool(abs(one_way) >= ONE_WAY * steps.size and abs(median(steps)) * steps.size > DRIFTS)


def _group(halves: HalfStrokes, first: int, stop: int, kind: Kind) -> Group:
    rows, n = slice(first, stop), stop - first
    period = 2 * float(halves.turn_s[stop] - halves.turn_s[first]) / n
    if n >= 3:  # from the passings of mid-stroke, which are sharper in time than the turning points
        line = np.stack([np.ones(n), np.arange(n) % 2, np.arange(n)], axis=1)
        period = 2 * float(np.linalg.lstsq(line, halves.passed_s[rows, INSIDE.size // 2], rcond=None)[0][2])
    stroke = float(np.mean(halves.stroke_m[rows]))
    parts = np.maximum(np.diff(halves.passed_s[rows], axis=1), 1e-9)
    return Group(first, stop, kind, period, stroke, stroke * median((np.diff(INSIDE) / parts).max(axis=1)))
