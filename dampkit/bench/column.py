"""One parsed column becomes numbers: cells that are none are left out and told, contradictions are refused."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING, Any

import numpy as np

from dampkit.bench.cells import NUMBER, SPACED, Cell, mixed_marks, number_of, shown
from dampkit.bench.headings import read_heading
from dampkit.bench.layout import Layout
from dampkit.bench.words import MISSING
from dampkit.errors import UnreadableLog
from dampkit.frozen import frozen
from dampkit.quantities import Array, distinct

if TYPE_CHECKING:
    import pandas as pd

DAMAGED_SHARE = 0.05  # more unreadable cells than this and the log is refused
FAR_OFF = 20  # a number without its decimal mark is so many times the largest that kept it
FEW = 20_000  # rows that show whether a closer look at a column is worth it
CLOCK_PARTS = r"(?:(\d{1,2}):)?(\d{1,2}):(\d{1,2}(?:[.,]\d{1,12})?)\s*(?:([AaPp])\.?[Mm]\.?)?\s*$"
MAGNITUDE = 1e30  # no reading of a bench, in whatever unit; its square is still a number


@frozen
class Spot:
    """Where a column stands, for an error."""

    where: str
    heading: str
    layout: Layout

    def at(self, row: int) -> str:
        return f"{self.where}:{self.layout.first_line + row}, column {self.heading!r}"


def numbers(column: Array | pd.Series[Any] | tuple[str | None, ...], spot: Spot) -> tuple[Array, str]:
    """A column as float64, NaN where a cell is empty or no number, and a note on those that are none.

    Raises UnreadableLog where a cell is a number by another decimal mark, or too many are none.
    """
    kind = "O" if isinstance(column, tuple) else column.dtype.kind
    if kind == "b":
        return np.full(len(column), np.nan), ""
    values, note = (np.asarray(column, dtype=np.float64), "") if kind in "fiu" else _from_text(column, spot)
    values = np.where(np.isfinite(values), values, np.nan) if np.isinf(values).any() else values
    _refuse_beyond_measure(values, spot)
    _refuse_thousand_jumps(values, spot)
    return values, note


def _from_text(column: Iterable[object], spot: Spot) -> tuple[Array, str]:
    cells = [cell.strip() if isinstance(cell, str) else "" for cell in column]
    read = [number_of(cell, spot.layout.marks) for cell in cells]
    bad = [(row, cell) for row, cell in enumerate(cells) if read[row] is None and cell.lower() not in MISSING]
    for row, cell in bad[:FEW]:
        if NUMBER.fullmatch(cell) or SPACED.fullmatch(cell):
            beside = spot.layout.rows[0][spot.layout.headings.index(spot.heading)]
            raise mixed_marks(Cell(cell, spot.at(row)), Cell(beside, ""))
        _refuse_other_unit(cell, row, spot)
    return np.array([np.nan if value is None else value for value in read]), _note(bad, len(cells), spot, "numbers")


def _refuse_other_unit(cell: str, row: int, spot: Spot) -> None:
    """Refuse a second heading of the same channel within the rows, where the numbers go on in another unit."""
    here, again = read_heading(spot.heading), read_heading(cell)
    both = here.by_unit.keys() & again.by_unit.keys()
    if here.by_word & again.by_word and both and all(here.by_unit[kind] != again.by_unit[kind] for kind in both):
        expected = "one unit from the first row to the last"
        do = "cut the file in two there and give both, the first record and the second"
        raise UnreadableLog(spot.at(row), f"found {shown(cell)}, a heading with another unit", expected, do)


def _note(others: list[tuple[int, str]], rows: int, spot: Spot, what: str) -> str:
    """A plain phrase on cells that could not be read; raises UnreadableLog where they are too many."""
    if not others:
        return ""
    row, cell = others[0]
    if len(others) > DAMAGED_SHARE * rows:
        found = f"found {shown(cell)} and {len(others) - 1} more cells that are no {what}"
        raise UnreadableLog(spot.at(row), found, what, "export the log again")
    line = spot.layout.first_line + row
    return f"{len(others)} cells of column {spot.heading!r} that are no {what}, first {shown(cell)} in line {line}"


def clock_times(column: pd.Series[Any], spot: Spot) -> tuple[Array, str]:
    """Clock times as text, with or without a date, in seconds since midnight; as `numbers` otherwise."""
    import pandas as pd

    if column.dtype.kind in "fiub":
        raise UnreadableLog(spot.at(0), "numbers where clock times stood", "clock times", "export the log again")
    text = column.str.strip().str.replace('"', "")
    parts = text.str.extract(CLOCK_PARTS)
    hours, minutes = (pd.to_numeric(parts[i], errors="coerce") for i in (0, 1))
    seconds = pd.to_numeric(parts[2].str.replace(",", "."), errors="coerce")
    half = parts[3].str.lower()  # of the day, where the clock has twelve hours: 12 AM is midnight, 12 PM noon
    hours = hours.where(half.isna(), hours % 12 + 12.0 * (half == "p"))
    values = np.asarray(3600 * hours.fillna(0) + 60 * minutes + seconds, dtype=np.float64)
    bad = np.flatnonzero(np.isnan(values) & text.notna().to_numpy())
    return values, _note([(int(row), str(text.iloc[row])) for row in bad], len(values), spot, "clock times")


def _refuse_beyond_measure(values: Array, spot: Spot) -> None:
    top = max(float(np.nanmax(values, initial=0.0)), -float(np.nanmin(values, initial=0.0)))
    if top > MAGNITUDE:
        row = int(np.flatnonzero(np.abs(np.nan_to_num(values)) > MAGNITUDE)[0])
        expected = f"readings, none of them beyond {MAGNITUDE:g}"
        raise UnreadableLog(spot.at(row), f"found {values[row]:g}", expected, "export the log again")


def _refuse_thousand_jumps(values: Array, spot: Spot) -> None:
    """Refuse a column where numbers have lost their decimal mark: whole, and 1000 times the rows beside them."""
    some = values[:: max(1, values.size // FEW)]
    kept = np.abs(some[(some != np.rint(some)) & np.isfinite(some)])
    top = max(float(np.nanmax(values)), -float(np.nanmin(values))) if kept.size else 0.0
    if kept.size < 10 or top < max(100.0, FAR_OFF * float(kept.max())):
        return
    whole = values == np.rint(values)
    parts = np.flatnonzero(~whole & np.isfinite(values))
    reach = float(np.max(np.abs(values[parts])))
    big = np.flatnonzero(whole & (np.abs(values) > max(100.0, FAR_OFF * reach)))
    beside = np.interp(big, parts, values[parts])
    lost = big[np.abs(values[big] / 1000 - beside) <= 0.1 * np.abs(beside) + 0.05 * reach]
    if distinct(values[lost]).size >= 3:
        row = int(lost[0])
        near = values[parts[np.argmin(np.abs(parts - row))]]
        raise UnreadableLog(
            spot.at(row),
            f"found {values[row]:g} next to {near:g}, and {lost.size - 1} more such: as it stands"
            f" it is {values[row]:g}, with the decimal mark lost on the way it is {values[row] / 1000:g}",
            "numbers that go on from row to row",
            "export the log again, past any spreadsheet, with a decimal point",
        )
