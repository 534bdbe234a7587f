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
    """Indices of alternating tops and bottoms that stand out by more than noise."""
    noise = 1.4826 * float(np.median(np.abs(np.diff(x))))
    stands_out = max(SMALLEST_STROKE * float(np.ptp(x)), 10 * noise)
    tops = find_peaks(x, prominence=stands_out, plateau_size=1)[0]
    bottoms = find_peaks(-x, prominence=stands_out, plateau_size=1)[0]
    points = np.concatenate([tops, bottoms])
    is_top = np.concatenate([np.ones(tops.size, bool), np.zeros(bottoms.size, bool)])
    order = np.argsort(points)
    points, is_top = points[order], is_top[order]
    if points.size == 0:
        return points
    # of neighbours of one kind keep the outermost
    run_start = np.flatnonzero(np.concatenate([[True], is_top[1:] != is_top[:-1]]))
    groups = np.split(np.arange(points.size), run_start[1:])
    keep = [g[np.argmax(x[points[g]] * (1 if is_top[g[0]] else -1))] for g in groups]
    return np.asarray(points[np.array(keep)])
