"""Recordings that stand in one table: side by side under repeated headings, or one below the other, time anew."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from dampkit.bench.headings import Heading
from dampkit.bench.layout import Layout
from dampkit.bench.table import Table
from dampkit.quantities import Array

FEWEST_ROWS = 24
ANEW = 0.02  # of the time before: a recording that begins anew begins so close to where the first one did
MOTION = ("displacement", "velocity", "angle")


def side_by_side(layout: Layout, headings: tuple[Heading, ...], timed: bool) -> tuple[Layout, ...]:
    """A layout for each group of columns where all headings repeat, each with force, motion and, if `timed`, its time.

    One layout where they do not. Columns of other groups lose their headings, so that no channel is looked for there.
    """
    keys = [_key(h) for h in headings]
    for width in range(2, len(keys) // 2 + 1):
        first = keys[:width]
        whole = len(keys) % width == 0 and keys == first * (len(keys) // width)
        named = {name for key in first for name in key if len(key) == 1}
        if whole and "force" in named and named & set(MOTION) and ("time" in named) == timed:
            groups = [range(at, at + width) for at in range(0, len(keys), width)]
            return tuple(_only(layout, group) for group in groups)
    return (layout,)


def _key(heading: Heading) -> frozenset[str]:
    found = frozenset() if heading.not_measured else heading.channels
    return frozenset({"angle"}) if heading.names_angle and not heading.by_word else frozenset(found)


def _only(layout: Layout, group: range) -> Layout:
    """The layout with only the headings of one group; their numbers, if any, stay."""
    heads = tuple(h if i in group else f"column {i + 1}" for i, h in enumerate(layout.headings))
    units = tuple(u if i in group else "" for i, u in enumerate(layout.units))
    return replace(layout, headings=heads, units=units)


def recordings(table: Table, time_column: int | None, apart: tuple[int, ...]) -> list[tuple[int, Table]]:
    """The recordings below one another in a table, each with its first row; one where time goes on to the end.

    `apart`: columns of force and motion, by which a recording is told from a copy of the one before it.
    """
    starts = [0] if time_column is None else _starts(table.columns[time_column])
    if len(starts) == 1:
        return [(0, table)]
    parts = [
        (a, Table({c: values[a:b] for c, values in table.columns.items()}, table.damaged if a == 0 else ""))
        for a, b in zip(starts, [*starts[1:], None], strict=True)
    ]
    copied = any(_same(one, other, apart) for i, (_, one) in enumerate(parts) for _, other in parts[i + 1 :])
    return [(0, table)] if copied else parts


def _starts(time: Array) -> list[int]:
    if (time[1:] >= time[:-1]).all():
        return [0]
    finite = np.flatnonzero(np.isfinite(time))
    if finite.size < 2 * FEWEST_ROWS:
        return [0]
    t = time[finite]
    back = np.flatnonzero(np.diff(t) < 0) + 1
    starts = [0]
    for at in back.tolist():
        since, left = at - starts[-1], t.size - at
        reached = float(t[at - 1] - t[0])
        if min(since, left) >= FEWEST_ROWS and t[at] - t[0] <= ANEW * reached + 2 * reached / since:
            starts.append(at)
    return [0, *(int(finite[at]) for at in starts[1:])]


def _same(one: Table, other: Table, columns: tuple[int, ...]) -> bool:
    rows = min(one.columns[columns[0]].size, other.columns[columns[0]].size)
    return all(np.array_equal(one.columns[c][:rows], other.columns[c][:rows], equal_nan=True) for c in columns)


def trimmed(table: Table) -> Table:
    """The table without rows at its end in which every cell is empty: where a shorter group has ended."""
    filled = np.zeros(next(iter(table.columns.values())).size, dtype=bool)
    for values in table.columns.values():
        filled |= np.isfinite(values)
    last = int(np.flatnonzero(filled)[-1]) + 1 if filled.any() else 0
    return table if last == filled.size else Table({c: v[:last] for c, v in table.columns.items()}, table.damaged)
