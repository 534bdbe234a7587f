"""Turning points of a displacement record, and the half-strokes between them."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.signal import find_peaks

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
    points = _turning_points(x)
    times = t[points]
    return HalfStrokes(times[:-1], np.diff(times), np.abs(np.diff(x[points])))


def _block_means(run: Run) -> tuple[Array, Array]:
    q = max(1, run.rows_used // COARSE_ROWS)
    n = run.rows_used // q * q
    t, x = run.time_s[:n], run.displacement_m[:n]
    if q == 1:
        return t, x
    return t.reshape(-1, q).mean(axis=1), x.reshape(-1, q).mean(axis=1)


def _turning_points(x: Array) -> Index:
    """Indices of alternating tops and bottoms that stand out by more than noise.

    Found on the levels that the motion passes through, a few dozen a stroke, so that long logs cost little;
    a turning point is the middle of the time spent on its outermost level.
    """
    noise = 1.4826 * float(np.median(np.abs(np.diff(x))))
    step = max(0.5 * SMALLEST_STROKE * float(np.ptp(x)), 4 * noise, np.finfo(float).tiny)
    level = np.floor((x - x.min()) / step).astype(np.int32)
    begins = np.concatenate([[0], np.flatnonzero(np.diff(level)) + 1])
    passed, middle = level[begins], (begins + np.append(begins[1:], x.size)) // 2
    tops = find_peaks(passed, prominence=2)[0]
    bottoms = find_peaks(-passed, prominence=2)[0]
    turns = np.concatenate([tops, bottoms])
    outward = np.concatenate([np.ones(tops.size), -np.ones(bottoms.size)])
    order = np.argsort(turns)
    return _alternating(middle[turns[order]], outward[order], x)


def _alternating(points: Index, outward: Array, x: Array) -> Index:
    """Of neighbours of one kind (outward +1 a top, -1 a bottom) the outermost."""
    if points.size == 0:
        return points
    groups = np.split(np.arange(points.size), np.flatnonzero(np.diff(outward)) + 1)
    return np.array([points[g[np.argmax(outward[g] * x[points[g]])]] for g in groups])
