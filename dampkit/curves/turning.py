"""Turning points of a displacement record, and the half-strokes between them."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from dampkit.bench.run import Run
from dampkit.quantities import Array, Index

COARSE_ROWS = 1_000_000  # turning points are found on block means of at most about so many points
SMALLEST_STROKE = 0.02  # of the log's whole range; smaller wiggles are not strokes


@dataclass(frozen=True)
class HalfStrokes:
    """From each turning point to the next. Arrays of one length; `start_s` has the times of the first points."""

    start_s: Array
    duration_s: Array
    stroke_m: Array

    def __len__(self) -> int:
        return len(self.start_s)


def half_strokes(run: Run) -> HalfStrokes:
    """All half-strokes of a run, dwells and part strokes included. Source: own."""
    t, x = _block_means(run)
    times, place = _turning_points(t, x)
    return HalfStrokes(times[:-1], np.diff(times), np.abs(np.diff(place)))


def _block_means(run: Run) -> tuple[Array, Array]:
    q = max(1, run.rows_used // COARSE_ROWS)
    n = run.rows_used // q * q
    t, x = run.time_s[:n], run.displacement_m[:n]
    if q == 1:
        return t, x
    return t.reshape(-1, q).mean(axis=1), x.reshape(-1, q).mean(axis=1)


def _turning_points(t: Array, x: Array) -> tuple[Array, Array]:
    """Times and places of alternating tops and bottoms that stand out by more than noise.

    Found on the levels that the motion passes through, a few dozen a stroke, so that long logs cost little;
    a turning point is the middle of the time spent on its outermost level and the one next to it, finer than the rows.
    """
    noise = 1.4826 * float(np.median(np.abs(np.diff(x))))
    step = max(0.5 * SMALLEST_STROKE * float(np.ptp(x)), 4 * noise, np.finfo(float).tiny)
    height = (x - x.min()) / step
    level = height.astype(np.int32)
    begins = np.concatenate([[0], np.flatnonzero(np.diff(level)) + 1])
    turns = _turns(level[begins])
    if turns.size < 3:
        return np.empty(0), np.empty(0)
    first, last = (places[1:-1] for places in _visits(level[begins], turns))  # the log's ends are no turning points
    came, went = begins[first], np.append(begins[1:], x.size - 1)[last]
    times = 0.5 * (_crossed(t, height, came) + _crossed(t, height, went))
    return times, x[(came + went) // 2]


def _crossed(t: Array, height: Array, at: Index) -> Array:
    """When the border of two levels was crossed between the row before and this one, straight between them."""
    at = np.maximum(at, 1)
    before, here = height[at - 1], height[at]
    border = np.floor(np.maximum(before, here))
    share = (border - before) / np.where(here == before, 1.0, here - before)
    return np.asarray(t[at - 1] + np.clip(share, 0.0, 1.0) * (t[at] - t[at - 1]))


def _turns(levels: Index) -> Index:
    """Places at which levels that differ from one to the next turn round by two or more; before and after them an end.

    Swings of one level are taken out pair by pair, which joins the swings on both sides of them; linear in cost.
    """
    turning = np.flatnonzero(np.diff(np.sign(np.diff(levels)))) + 1
    places = np.unique(np.concatenate([[0], turning, [levels.size - 1]]))
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
    places = np.arange(levels.size)
    after = np.clip(np.searchsorted(turns, places), 1, turns.size - 1)
    for turn in (after - 1, after):
        there = np.abs(levels - levels[turns[turn]]) <= 1
        np.minimum.at(first, turn[there], places[there])
        np.maximum.at(last, turn[there], places[there])
    return first, last
