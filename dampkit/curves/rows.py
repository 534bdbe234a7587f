"""What every row of a run is used for."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from dampkit.bench.run import Run
from dampkit.curves.groups import sweeps
from dampkit.curves.loop import RowSpan, RowUse
from dampkit.curves.stages import Motion
from dampkit.quantities import Array, median, medians

BLOCKS_S = (0.05, 0.1, 0.2, 0.4)  # times over which it is seen whether the motion rests: the first that noise allows
STILL = 0.02  # share of the slowest speed near by below which the motion rests
NOISE = 4.0  # standard errors of a mean that are no motion
SLIVER = 3  # rows; a shorter span is joined to the one beside it
TURNING = 0.1  # share of a half-stroke that a turning point takes below so low a speed, at most
RAMP = 3  # half-strokes, more or less, in which the stroke comes up or dies away next to a stage

Rows = tuple[int, int]


def row_spans(run: Run, motion: Motion) -> tuple[RowSpan, ...]:
    """Spans from the first row to the last, each row in one of them. Source: own."""
    spans: list[RowSpan] = []
    at = 0
    for stage, stretch in zip(motion.stages, motion.stretches, strict=True):
        begin = int(np.searchsorted(run.time_s, stretch.begin_s))
        end = int(np.searchsorted(run.time_s, stretch.end_s))
        end += end == run.rows_used - 1  # the last row is its stretch's end
        begin, end = max(at, min(begin, stage.start)), max(end, stage.stop)
        spans += _between(run, motion, at, begin)
        cycles = "1 whole cycle" if stage.cycles == 1 else f"{stage.cycles} whole cycles at one speed"
        spans.append(RowSpan(begin, stage.start, "not used", "part of a cycle before the whole ones"))
        spans.append(RowSpan(stage.start, stage.stop, "stage", cycles, stage.index))
        spans.append(RowSpan(stage.stop, end, "not used", "part of a cycle after the whole ones"))
        at = end
    spans += _between(run, motion, at, run.rows_used)
    return _joined([span for span in spans if span.to_row > span.from_row])


def _joined(spans: list[RowSpan]) -> tuple[RowSpan, ...]:
    """Spans of a row or two that are no stage joined to the one before or after them that is none either."""
    kept: list[RowSpan] = []
    for span in spans:
        short = [s.use != "stage" and s.to_row - s.from_row < SLIVER for s in (*kept[-1:], span)]
        if kept and any(short) and "stage" not in (kept[-1].use, span.use):
            longer = max(kept[-1], span, key=lambda s: s.to_row - s.from_row)
            kept[-1] = replace(longer, from_row=kept[-1].from_row, to_row=span.to_row)
        else:
            kept.append(span)
    return tuple(kept)


def _between(run: Run, motion: Motion, start: int, stop: int) -> list[RowSpan]:
    """Rows outside the stages: rests, and the motion between them."""
    spans, at = [], start
    for a, b in [*_rests(run, motion, start, stop), (stop, stop)]:
        if a > at:
            beside = (at == start and start > 0, a == stop and stop < run.rows_used)
            spans.append(RowSpan(at, a, *_moving(run, motion, at, a, beside)))
        if b > a:
            spans.append(RowSpan(a, b, "rest", "not moving"))
        at = b
    return spans


def _moving(run: Run, motion: Motion, start: int, stop: int, beside: tuple[bool, bool]) -> tuple[RowUse, str]:
    """Use of rows that move. `beside`: whether a stage ends where they begin, and one begins where they end."""
    halves = motion.halves
    begin, end = run.time_s[start], run.time_s[stop - 1]
    first = int(np.searchsorted(halves.turn_s, begin))
    last = max(first, int(np.searchsorted(halves.turn_s, end, side="right")) - 1)
    stroke = halves.stroke_m[first:last]
    ramp = stroke.size <= RAMP and any(
        b and (np.diff(s) > 0).all() for b, s in zip(beside, (-stroke, stroke), strict=True)
    )
    if any(beside) and (stroke.size < 2 or ramp):
        if all(beside):
            return "run-up", "changing from one stage to the next"
        return "run-up", "slowing down after a stage" if beside[0] else "coming up to a stage"
    if stroke.size < 2:
        return "not used", "less than one whole cycle"
    if sweeps(halves, first, last):
        return "not used", "a sweep: the speed changes from cycle to cycle"
    return "not used", "irregular: stroke or speed differ from one stroke to the next, or too few rows a cycle"


def _rests(run: Run, motion: Motion, start: int, stop: int) -> list[Rows]:
    """Rows in which the motion rests, between two rows."""
    t, x = run.time_s[start:stop], run.displacement_m[start:stop]
    row_s, noise = run.sample_interval_s, motion.halves.noise_m
    still = STILL * _slowest(motion, t)
    for block_s in BLOCKS_S:
        rows = max(1, round(block_s / row_s))
        within = max(still * rows * row_s, NOISE * noise * float(np.sqrt(2 / rows)))
        if within <= still * rows * row_s or block_s == BLOCKS_S[-1]:
            break
    blocks = x.size // rows
    if blocks < 2:
        quiet = x.size > 1 and np.ptp(x) <= max(within, NOISE * noise)
        return [(start, stop)] if quiet else []
    means = x[: blocks * rows].reshape(blocks, rows).mean(axis=1)
    quiet_steps = np.abs(np.diff(means)) <= within
    ends = np.flatnonzero(np.diff(np.concatenate([[False], quiet_steps, [False]]).astype(np.int8)))
    found = [
        _widened(x, int(a) * rows, int(b + 1) * rows, within + NOISE * noise, rows) for a, b in ends.reshape(-1, 2)
    ]
    return [(start + a, start + b) for a, b in found if b > a and not _turning(motion, t[a], t[b - 1])]


def _turning(motion: Motion, begin_s: float, end_s: float) -> bool:
    """Whether motion is slow only because it turns round: for a small share of the half-strokes before and after."""
    turn_s = motion.halves.turn_s
    i = int(np.searchsorted(turn_s, 0.5 * (begin_s + end_s)))
    near = turn_s[max(0, i - 1) : i + 1]
    at = near[(near >= begin_s) & (near <= end_s)]
    longest = float(np.diff(turn_s[max(0, i - 2) : i + 2]).max(initial=0.0))
    return bool(at.size) and end_s - begin_s < TURNING * longest


def _widened(x: Array, a: int, b: int, within_m: float, most: int) -> Rows:
    """A rest as far as its rows stay at its place, up to one block more or less at each end."""
    off = np.abs(x - median(x[a:b])) > within_m
    before = np.flatnonzero(off[max(0, a - most) : a + most])
    after = np.flatnonzero(off[max(a, b - most) : b + most])
    first = max(0, a - most) + (int(before[-1]) + 1 if before.size else 0)
    last = max(a, b - most) + int(after[0]) if after.size else min(x.size, b + most)
    return first, max(first, last)


def _slowest(motion: Motion, t: Array) -> float:
    """Slowest speed [m/s] of the stages and of the half-strokes near by."""
    halves = motion.halves
    if not t.size or not len(halves):
        return float(min(2 * stage.stroke_m * stage.frequency_hz for stage in motion.stages))
    near = slice(max(0, int(np.searchsorted(halves.turn_s, t[0])) - 1), int(np.searchsorted(halves.turn_s, t[-1])))
    part_s = medians(np.diff(halves.passed_s[near], axis=1))
    part_m = 0.175 * halves.stroke_m[near]
    speeds = [2 * stage.stroke_m * stage.frequency_hz for stage in motion.stages]
    return float(min([*speeds, *(part_m / np.maximum(part_s, 1e-9)).tolist()]))
