"""Rows that repeat earlier rows digit by digit: a part of the log pasted in again. No bench does that."""

from __future__ import annotations

from math import comb

import numpy as np
import numpy.typing as npt

from dampkit.bench.run import Notes
from dampkit.quantities import Array, Index, Mask, blocks, distinct, median, quantiles, stretches

Words = npt.NDArray[np.uint64]
Spans = tuple[tuple[int, int], ...]

NOISY = 0.6  # steps of noise from which equal readings are chance; a clean reading rounded to its step shows 0.3
ORDER = 6  # of the difference that leaves the noise of a smooth motion
PIECES, PIECE_ROWS = 16, 8192  # noise and step are read off so many stretches of so many rows
CHANCE = 1e-9  # of one such stretch in the whole log
LEAST_ROWS = 60
LEAST_TRAVEL = 0.02  # share of the whole travel; a bench at rest repeats itself
START = 8  # rows by which equal places are first found
SELDOM = 16  # one row in so many is looked up; which ones depends on what they hold alone
LAGS = 50  # most distances between copy and origin that are followed up
MOST = 0.5  # share of the rows from which the log is no test


def copied_rows(moved: Array, force: Array, first_line: int, notes: Notes) -> Spans:
    """Spans (first, past the last) of rows that repeat earlier rows exactly, in order; said as lines of the log.

    Channels as logged, shape (N,). Noise makes long stretches differ, so a log whose readings come without noise
    (worked out, or cell and scale coarse) is not judged. Source: own; linear in the rows but for a sort of one in 16.
    """
    chance = min(chance_equal(values) for values in (moved, force)) if moved.size > 4 * LEAST_ROWS else 1.0
    if chance >= 1:
        return ()
    least = max(LEAST_ROWS, int(np.log(CHANCE / moved.size**2) / np.log(chance)))
    travel = LEAST_TRAVEL * float(np.nanmax(moved) - np.nanmin(moved))
    copied = np.zeros(moved.size, dtype=bool)
    said = []
    for lag, low, high in _candidates(*_looked_up(moved, force)):
        for first, last in _equal_stretches(moved, force, lag, low, high):
            if last - first >= least and np.ptp(moved[first:last]) > travel and not copied[first:last].all():
                copied[first:last] = True
                said.append((first, last, lag))
    if not said:
        return ()
    _say(said, copied, first_line, notes)
    return tuple((int(a), int(b)) for a, b in zip(*stretches(copied), strict=True))


def _say(said: list[tuple[int, int, int]], copied: Mask, first_line: int, notes: Notes) -> None:
    spans = "; ".join(
        f"lines {first_line + a} to {first_line + b - 1} repeat lines {first_line + a - lag} to {first_line + b - 1 - lag}"
        for a, b, lag in sorted(said)[:3]
    )
    share = float(copied.mean())
    notes.did("copied rows left out", "they repeat earlier rows exactly", rows=int(copied.sum()))
    notes.noticed(
        "copied_rows",
        "bad" if share > MOST else "warning",
        f"{spans} exactly: no bench does that, so a part of the log was pasted in again."
        f" These rows ({100 * share:.0f} %) are not used, neither as a repeat nor for warming up."
        " Take the log from the bench again.",
    )


def chance_equal(values: Array) -> float:
    """Chance that two readings of the same force or place come out equal: step over noise; 1 where noise is not seen.

    values: shape (N,), NaN where a row does not count.
    """
    if values.size > PIECES * PIECE_ROWS:
        begins = np.linspace(0, values.size - PIECE_ROWS, PIECES).astype(np.intp)
        values = values[begins[:, None] + np.arange(PIECE_ROWS)]
    change = np.abs(np.diff(values, ORDER))
    change = change[np.isfinite(change)]
    if change.size < 4 * ORDER:
        return 1.0
    levels = distinct(values[np.isfinite(values)][:100_000])
    gaps = np.diff(levels)
    gaps = gaps[gaps > 1e-9 * max(float(np.ptp(levels)), 1e-300)]
    if not gaps.size:
        return 1.0
    step = float(quantiles(gaps, [0.05])[0])
    noise = 1.4826 * median(change) / comb(2 * ORDER, ORDER) ** 0.5
    return 1.0 if noise < NOISY * step else step / (2 * noise * np.pi**0.5)


def _looked_up(moved: Array, force: Array) -> tuple[Index, Words]:
    """Rows that are looked up, with a word that depends on all readings of the `START` rows from each on."""
    found = []
    for rows in blocks(moved.size, shared=START - 1):
        word = (moved[rows] + 0.0).view(np.uint64) * np.uint64(0x9E3779B97F4A7C15)  # + 0.0: no negative zero
        word ^= word >> np.uint64(29)
        word += (force[rows] + 0.0).view(np.uint64)
        word *= np.uint64(0xBF58476D1CE4E5B9)
        word ^= word >> np.uint64(32)
        at = np.flatnonzero(word[: 1 - START] % np.uint64(SELDOM) == 0)
        at = at[word[at] != word[at + 1]]
        key = np.zeros(at.size, dtype=np.uint64)
        for row in range(START):
            key = key * np.uint64(0x94D049BB133111EB) + word[at + row]
        found.append((rows.start + at, key))
    at, key = (np.concatenate(part) for part in zip(*found, strict=True))
    return at, key


def _candidates(at: Index, key: Words) -> list[tuple[int, int, int]]:
    """Lags at which several places repeat an earlier place, with the first and the last such row; most places first."""
    if not at.size:
        return []
    order = np.argsort(key, kind="stable")
    key, at = key[order], at[order]
    new = np.concatenate([[True], key[1:] != key[:-1]])
    origin = at[np.maximum.accumulate(np.where(new, np.arange(at.size), 0))]
    lag, place = (at - origin)[~new], at[~new]
    order = np.lexsort((place, lag))
    lag, place = lag[order], place[order]
    lags, begin, places = np.unique(lag, return_index=True, return_counts=True)
    most = np.argsort(-places, kind="stable")[:LAGS]
    most = most[places[most] > 1]
    last = begin + places - 1
    return [(int(lags[k]), int(place[begin[k]]), int(place[last[k]])) for k in most]


def _equal_stretches(moved: Array, force: Array, lag: int, low: int, high: int) -> list[tuple[int, int]]:
    """Stretches of rows about `low` to `high` that equal those `lag` rows before; (first, past the last)."""
    reach = 40 * SELDOM
    a, b = max(lag, low - reach), min(moved.size, high + reach)
    equal = (moved[a:b] == moved[a - lag : b - lag]) & (force[a:b] == force[a - lag : b - lag])
    return [(int(a + i), int(a + j)) for i, j in zip(*stretches(equal), strict=True)]
