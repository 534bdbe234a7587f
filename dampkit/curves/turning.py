"""Turning points of a displacement record, and the half-strokes between them."""

from __future__ import annotations

import numpy as np

from dampkit.bench.run import Run
from dampkit.frozen import frozen
from dampkit.quantities import Array, Index, blocks, distinct, median

COARSE_ROWS = 1_000_000  # turning points are found on block means of at most about so many points
SMALLEST_STROKE = 0.02  # of the log's whole range; smaller wiggles are not strokes
INSIDE = np.array([0.15, 0.325, 0.5, 0.675, 0.85])  # shares of a half-stroke at which its passing is timed
NOISE_ROWS, NOISE_PIECES = 2_000, 10  # the noise is read from so many rows in so many places


@frozen
class HalfStrokes:
    """From each turning point to the next: N half-strokes, directions alternating.

    `turn_s`, `turn_m`: times and places of the turning points, shape (N + 1,), or empty where there is no half-stroke.
    `passed_s`: when the motion passed the shares `INSIDE` of each half-stroke, shape (N, 5).
    """

    turn_s: Array
    turn_m: Array
    passed_s: Array
    noise_m: float  # standard deviation of one row's displacement, quantisation included

    def __len__(self) -> int:
        return len(self.passed_s)

    @property
    def start_s(self) -> Array:
        return self.turn_s[:-1]

    @property
    def duration_s(self) -> Array:
        return np.diff(self.turn_s)

    @property
    def stroke_m(self) -> Array:
        return np.abs(np.diff(self.turn_m))


def half_strokes(run: Run) -> HalfStrokes:
    """All half-strokes of a run, dwells and part strokes included. Source: own."""
    noise = row_noise_m(run)
    t, x = _block_means(run)
    step = max(0.5 * SMALLEST_STROKE * float(np.ptp(x)), 6 * noise, np.finfo(float).tiny)
    height = x - x.min()
    height /= step
    level = height.astype(np.int32)
    begins = np.concatenate([[0], np.flatnonzero(level[1:] != level[:-1]) + 1])
    times, places = _turning_points(t, x, height, level[begins], begins)
    if times.size < 2:
        return HalfStrokes(np.empty(0), np.empty(0), np.empty((0, INSIDE.size)), noise)
    crossings = [_crossed(t, height, begins[1:][some]) for some in blocks(begins.size - 1)]
    crossed_s, border = (np.concatenate(part) for part in zip(*crossings, strict=True))
    del t, height, level, begins
    return HalfStrokes(times, places, _passed(times, places, crossed_s, x.min() + step * border), noise)


def row_noise_m(run: Run) -> float:
    """Standard deviation of one row's displacement: from third differences, which motion hardly enters.

    The coefficients 1, -3, 3, -1 have 20 as their sum of squares. Source: own; checked against known noise.
    """
    x = run.displacement_m
    ends = distinct(np.linspace(0, max(0, x.size - NOISE_ROWS), NOISE_PIECES).astype(np.intp))
    rough = np.concatenate([np.diff(x[a : a + NOISE_ROWS], n=3) for a in ends])
    spread = 1.4826 * median(np.abs(rough)) / 20**0.5 if rough.size else 0.0
    return float(max(spread, run.displacement_resolution_m / 12**0.5))


def _block_means(run: Run) -> tuple[Array, Array]:
    q = max(1, run.rows_used // COARSE_ROWS)
    n = run.rows_used // q * q
    t, x = run.time_s[:n], run.displacement_m[:n]
    if q == 1:
        return t, x
    return np.asarray(sum(t.reshape(-1, q).T) / q), np.asarray(sum(x.reshape(-1, q).T) / q)


def _turning_points(t: Array, x: Array, height: Array, levels: Index, begins: Index) -> tuple[Array, Array]:
    """Times and places of alternating tops and bottoms that are larger than noise.

    Found on the levels that the motion passes through, a few dozen a stroke, so that long logs cost little;
    a turning point is the middle of the time spent on its outermost level and the one next to it, finer than the rows.
    """
    turns = _turns(levels)
    if turns.size < 4:
        return np.empty(0), np.empty(0)
    first, last = (places[1:-1] for places in _visits(levels, turns))  # the log's ends are no turning points
    came, went = begins[first], np.append(begins[1:], x.size - 1)[last]
    times = 0.5 * (_crossed(t, height, came)[0] + _crossed(t, height, went)[0])
    return times, x[(came + went) // 2]


def _passed(times: Array, places: Array, crossed_s: Array, crossed_m: Array) -> Array:
    """When the shares `INSIDE` of every half-stroke were first passed, straight between the crossings of levels."""
    inside = slice(np.searchsorted(crossed_s, times[0], side="right"), np.searchsorted(crossed_s, times[-1]))
    crossed_s, crossed_m = crossed_s[inside], crossed_m[inside]
    order = np.empty(crossed_s.size)
    for some in blocks(order.size):
        half = np.clip(np.searchsorted(times, crossed_s[some]) - 1, 0, times.size - 2)
        share = (crossed_m[some] - places[half]) / (places[half + 1] - places[half])
        order[some] = half + np.clip(share, 0.0, 1.0)
    np.maximum.accumulate(order, out=order)
    # each half-stroke begins and ends at its turning points, however few levels lie between
    ends = np.arange(times.size)
    beside = np.searchsorted(order, ends, side="right")
    order, when = np.insert(order, beside, ends), np.insert(crossed_s, beside, times)
    return np.asarray(np.interp(ends[:-1, None] + INSIDE, order, np.maximum.accumulate(when, out=when)))


def _crossed(t: Array, height: Array, at: Index) -> tuple[Array, Array]:
    """When the border of two levels was crossed between the row before and this one, straight between them; the border."""
    at = np.maximum(at, 1)
    before, here = height[at - 1], height[at]
    border = np.floor(np.maximum(before, here))
    share = (border - before) / np.where(here == before, 1.0, here - before)
    return t[at - 1] + np.clip(share, 0.0, 1.0) * (t[at] - t[at - 1]), border


def _turns(levels: Index) -> Index:
    """Places at which levels that differ from one to the next turn round by two or more; before and after them an end.

    Swings of one level are taken out pair by pair, which joins the swings on both sides of them; linear in cost.
    """
    turning = np.flatnonzero(np.diff(np.sign(np.diff(levels)))) + 1
    places = distinct(np.concatenate([[0], turning, [levels.size - 1]]))
    while places.size > 2:
        small = np.abs(np.diff(levels[places])) < 2
        inner = small & (np.arange(small.size) > 0) & (np.arange(small.size) < small.size - 1)
        if not inner.any():
            return np.asarray(places[int(small[0]) : places.size - int(small[-1])])
        begins = inner & ~np.concatenate([[False], inner[:-1]])
        since = np.arange(inner.size) - np.flatnonzero(begins)[np.cumsum(begins) - 1]
        gone = np.flatnonzero(inner & (since % 2 == 0))  # every other of small swings in a row
        places = np.delete(places, np.concatenate([gone, gone + 1]))
    return np.asarray(places)


def _visits(levels: Index, turns: Index) -> tuple[Index, Index]:
    """First and last place, between the turns before and after it, within one level of a turn's own."""
    first, last = turns.copy(), turns.copy()
    for some in blocks(levels.size):
        places = np.arange(some.start, some.stop)
        after = np.clip(np.searchsorted(turns, places), 1, turns.size - 1)
        for turn in (after - 1, after):
            there = np.abs(levels[some] - levels[turns[turn]]) <= 1
            np.minimum.at(first, turn[there], places[there])
            np.maximum.at(last, turn[there], places[there])
    return first, last
