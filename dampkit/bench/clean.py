"""Rows that cannot be used: gaps, repeats, time running back, lone wild readings. All are counted and said."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
import numpy.typing as npt

from dampkit.bench.copies import Spans
from dampkit.bench.run import Notes, Severity
from dampkit.errors import UnreadableLog
from dampkit.quantities import Array, Index, blocks, distinct, median, number, quantiles

Mask = npt.NDArray[np.bool_]
DISORDER_SHARE = 0.01  # of the rows; beyond it the log is refused
FEWEST_ROWS = 24
LEAP = 0.5  # of the channel's usual range: a reading so far from both neighbours, which agree, is no motion
NEIGHBOURS_AGREE = 0.1


def usable_rows(
    time: Array, channels: Mapping[str, Array], filled: Mask, copied: Spans, first_line: int, notes: Notes, where: str
) -> tuple[Array, Mask]:
    """Time with repeats by coarse printing spread out, and a mask of the rows to keep.

    time: shape (N,); channels: those without which a row is useless, each (N,); filled: rows that are not all empty;
    copied: rows that repeat earlier ones.
    Raises UnreadableLog where time runs back for good or too few rows are left.
    """
    keep = np.isfinite(time)
    for values in channels.values():
        keep &= np.isfinite(values)
    missing = int(filled.sum() - keep.sum())
    if missing:
        share = missing / int(filled.sum())
        notes.did("rows left out", "a reading is missing or not a number", rows=missing)
        severity: Severity = "warning" if share > 0.01 else "note"
        notes.noticed(
            "rows_missing", severity, f"{missing} of {int(filled.sum())} rows lack a reading and were left out."
        )
    for first, last in copied:
        keep[first:last] = False
    for name, values in channels.items():
        _leave_out_wild(name, values, keep, first_line, notes)
    if keep.sum() < FEWEST_ROWS:
        raise UnreadableLog(
            where, f"{int(keep.sum())} complete rows", f"at least {FEWEST_ROWS}", "give the whole log of a test"
        )
    if _rises(time if keep.all() else time[keep]):
        return time, keep
    time = _spread_coarse(time, keep, notes)
    _leave_out_disordered(time, keep, first_line, notes, where)
    return time, keep


def _rises(time: Array) -> bool:
    return bool((time[1:] > time[:-1]).all())


def some_intervals(time: Array) -> Array:
    """From some rows, evenly spread, to the next, as many as tell what is usual. time: shape (N,)."""
    stride = max(1, (time.size - 1) // 50_000)
    return time[1::stride] - time[:-1:stride]


def _wide_steps(values: Array, least: float) -> Index:
    """Rows from which a channel is further than `least` to the next row."""
    found = [rows.start + np.flatnonzero(np.abs(np.diff(values[rows])) > least) for rows in blocks(values.size, 1)]
    return np.concatenate(found)


def note_gaps(time: Array, notes: Notes) -> None:
    """Say where rows are missing altogether. time: shape (N,), rising."""
    usual = median(some_intervals(time))
    gaps = _wide_steps(time, 1.5 * usual)
    if not gaps.size:
        return
    steps = time[gaps + 1] - time[gaps]
    longest_s, at_s = float(steps.max()), float(time[gaps[np.argmax(steps)]])
    lost = int(np.sum(np.round(steps / usual) - 1))
    share = lost / (lost + time.size)
    notes.noticed(
        "gaps",
        "warning" if longest_s > 5 * usual or share > 0.01 else "note",
        f"{gaps.size} gaps in time, about {lost} rows ({100 * share:.1f} %); the longest is"
        f" {number(1000 * longest_s, 3)} ms at {number(at_s, 5)} s."
        " Readings between are drawn straight, or the cycle left out where the log is used as it is.",
    )


def _leave_out_wild(name: str, values: Array, keep: Mask, first_line: int, notes: Notes) -> None:
    """Lone readings that leap off and straight back are no motion a bench can make."""
    if values.size < FEWEST_ROWS:
        return
    sample = values[:: max(1, values.size // 50_000)]
    low, high = quantiles(sample[np.isfinite(sample)], [0.005, 0.995])
    if not high > low:
        return
    least = LEAP * (high - low)
    jumps = _wide_steps(values, least)  # one of the two steps of a leap is as large as the leap
    rows = distinct(np.concatenate([jumps, jumps + 1]))
    rows = rows[(rows > 0) & (rows < values.size - 1)]
    off = np.abs(values[rows] - 0.5 * (values[rows - 1] + values[rows + 1]))
    rows, off = rows[off > least], off[off > least]
    rows = rows[np.abs(values[rows + 1] - values[rows - 1]) < NEIGHBOURS_AGREE * off]
    if rows.size:
        keep[rows] = False
        lines = ", ".join(str(first_line + int(r)) for r in rows[:3])
        notes.did("wild readings left out", f"{name} leaps off and straight back", rows=int(rows.size), lines=lines)
        notes.noticed(
            "wild_readings",
            "warning",
            f"{rows.size} lone wild readings of the {name} were left out (line {lines}). Check plugs and cable.",
        )


def _spread_coarse(time: Array, keep: Mask, notes: Notes) -> Array:
    """Time printed too coarsely repeats itself; where it fits an even rate to its own last digit, that is used."""
    rows = np.flatnonzero(keep)
    steps = np.diff(time[rows])
    repeats = int((steps == 0).sum())
    if repeats < 0.2 * steps.size:
        return time
    coarse = float(steps[steps > 0].min()) if (steps > 0).any() else 0.0
    slope, start = np.polyfit(rows, time[rows], 1)
    even = start + slope * np.arange(time.size)
    if slope <= 0 or float(np.max(np.abs(even[rows] - time[rows]))) > 1.01 * coarse:
        return time
    notes.did("time spread evenly", "the time column repeats itself", printed_step_s=coarse, interval_s=float(slope))
    notes.noticed(
        "coarse_time",
        "note",
        f"Time is written in steps of {coarse:g} s, coarser than the rows;"
        f" an even rate of {number(1 / float(slope), 5)} rows a second fits it and was used.",
    )
    return np.asarray(even)


def _leave_out_disordered(time: Array, keep: Mask, first_line: int, notes: Notes, where: str) -> None:
    rows = np.flatnonzero(keep)
    t = time[rows]
    if (np.diff(t) > 0).all():
        return
    spike = np.zeros(t.size, dtype=bool)
    spike[1:-1] = (t[2:] > t[:-2]) & ((t[1:-1] >= t[2:]) | (t[1:-1] < t[:-2]))
    wrong = rows[spike]
    rows, t = rows[~spike], t[~spike]
    late = np.concatenate([[False], t[1:] <= np.maximum.accumulate(t)[:-1]])
    wrong = np.concatenate([wrong, rows[late]])
    keep[wrong] = False
    bad, first = int(wrong.size), int(wrong.min())
    if bad > max(2, DISORDER_SHARE * time.size):
        place = int(np.flatnonzero(late)[0]) if late.any() else 0
        back, before = (rows[place], t[place - 1]) if late.any() else (first, time[max(0, first - 1)])
        raise UnreadableLog(
            f"{where}:{first_line + int(back)}",
            f"time does not go on here ({float(time[back]):.6g} s after {float(before):.6g} s),"
            f" and {bad} rows in all are out of order",
            "time that rises from row to row",
            "if several tests are in one file, give one file a test",
        )
    notes.did("rows out of order left out", "time repeats or runs back", rows=bad, first_line=first_line + first)
    notes.noticed(
        "time_disorder",
        "note",
        f"{bad} rows repeat a time or run back and were left out, first line {first_line + first}.",
    )
