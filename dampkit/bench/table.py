"""The rows of numbers, parsed once."""

from __future__ import annotations

import io
import re
import warnings
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from dampkit.bench.cells import NUMBER, SPACED, mixed_marks
from dampkit.bench.layout import Layout
from dampkit.bench.words import MISSING
from dampkit.errors import UnreadableLog
from dampkit.quantities import Array

if TYPE_CHECKING:
    import pandas as pd

DAMAGED_SHARE = 0.05  # more unreadable rows than this and the log is refused
FAR_OFF = 20  # a number without its decimal mark is so many times the largest that kept it
FEW = 20_000  # rows that show whether a closer look at a column is worth it
COMMA, POINT, NEWLINE = b",", b".", b"\n"


@dataclass(frozen=True)
class Table:
    """Columns by their place in the log, shape (rows,), NaN where a cell is empty or unreadable."""

    columns: dict[int, Array]
    damaged: str = ""  # what was unreadable and left out; empty where nothing was


def parse(data: bytes, layout: Layout, wanted: Sequence[int], where: str) -> Table:
    """The wanted columns of the rows of numbers; clock columns in seconds since midnight of the first day.

    Raises UnreadableLog naming line and column where cells contradict the layout.
    """
    if layout.paired:
        data = _commas_inside_numbers_to_points(data, layout, where)
    data = _plain_characters(data)
    split_clock = _clock_to_split(layout, wanted)
    if split_clock is not None:
        data = data.translate(bytes.maketrans(b":", layout.delimiter.encode()))
    extra = 2 if split_clock is not None else 0
    names = {c + extra if split_clock is not None and c > split_clock else c: c for c in wanted}
    places = sorted({*names, *range(split_clock, split_clock + 3)} if split_clock is not None else names)
    frame, skipped = _frame(data, layout, layout.width + extra, places, where)
    damaged: list[str] = [skipped] if skipped else []
    columns: dict[int, Array] = {}
    for place in places:
        column = names.get(place, split_clock if split_clock is not None else place)
        text_clock = column in layout.clock_columns and split_clock is None
        heading = layout.headings[column]
        spot = _Spot(where, heading, layout)
        columns[place], note = _clock_text(frame[place], spot) if text_clock else _numbers(frame[place], spot)
        del frame[place]
        damaged += [note] if note else []
    if split_clock is not None:
        columns[split_clock] = 3600 * columns[split_clock] + 60 * columns[split_clock + 1] + columns[split_clock + 2]
    return Table({c: columns[place] for place, c in names.items()}, "; ".join(damaged))


@dataclass(frozen=True)
class _Spot:
    where: str
    heading: str
    layout: Layout

    def at(self, row: int) -> str:
        return f"{self.where}:{self.layout.first_line + row}, column {self.heading!r}"


def _commas_inside_numbers_to_points(data: bytes, layout: Layout, where: str) -> bytes:
    """Every other comma of each line becomes a point; refused where a line has another number of commas."""
    text = np.frombuffer(data if data.endswith(NEWLINE) else data + NEWLINE, dtype=np.uint8).copy()
    ends = np.flatnonzero(text == NEWLINE[0])
    commas = np.flatnonzero(text == COMMA[0])
    in_line = np.diff(np.searchsorted(commas, ends), prepend=0)
    expected = 2 * layout.width - 1
    odd = np.flatnonzero(in_line != expected)
    if odd.size:
        raise UnreadableLog(
            f"{where}:{layout.first_line + int(odd[0])}",
            f"{int(in_line[odd[0]])} commas where the other lines have {expected}; comma is delimiter and decimal mark"
            " at once, so a number without decimals cannot be told from half of one",
            f"{layout.width} numbers with decimals in every line",
            "export the log again with semicolons between the columns, or with decimal points",
        )
    text[commas.reshape(-1, expected)[:, ::2]] = POINT[0]
    return text.tobytes()


def _plain_characters(data: bytes) -> bytes:
    """Typographic minus signs and no-break blanks of UTF-8 made plain; nothing is copied where there are none."""
    for odd, plain in ((b"\xe2\x88\x92", b"-"), (b"\xe2\x80\xaf", b" "), (b"\xc2\xa0", b" ")):
        if data.find(odd, 0, 4096) >= 0:
            data = data.replace(odd, plain)
    return data


def _clock_to_split(layout: Layout, wanted: Sequence[int]) -> int | None:
    """The column of plain hh:mm:ss that can be read as three numbers by splitting at its colons."""
    clocks = [c for c in wanted if c in layout.clock_columns]
    if len(clocks) != 1 or layout.quoted or layout.marks.decimal == layout.delimiter:
        return None
    mark = re.escape(layout.marks.decimal)
    plain = re.compile(rf"\d{{1,2}}:\d{{2}}:\d{{2}}(?:{mark}\d+)?")
    fits = all(plain.fullmatch(row[clocks[0]]) for row in layout.rows)
    elsewhere = any(":" in cell for row in layout.rows for i, cell in enumerate(row) if i != clocks[0])
    return clocks[0] if fits and not elsewhere else None


def _frame(data: bytes, layout: Layout, width: int, places: list[int], where: str) -> tuple[pd.DataFrame, str]:
    """The C parser's answer; lines with too many cells are left out and counted, unless they are many."""
    import pandas as pd

    settings: dict[str, Any] = {
        "sep": r"\s+" if layout.delimiter == " " else layout.delimiter,
        "decimal": layout.marks.decimal,
        "thousands": layout.marks.thousands,
        "header": None,
        "names": list(range(width)),
        "usecols": places,
        "index_col": False,
        "skipinitialspace": layout.padded,
        "skip_blank_lines": False,
        "encoding": "latin-1",
        "na_values": sorted(MISSING - {""}),
        "on_bad_lines": "error",
    }
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # pandas on mixed columns: looked at cell by cell below
        try:
            return pd.read_csv(io.BytesIO(data), **settings), ""
        except pd.errors.ParserError as error:
            _refuse_if_marks_differ(str(error), data, layout, where)
            reason = str(error)
        settings["on_bad_lines"] = "skip"
        frame = pd.read_csv(io.BytesIO(data), **settings)
    lines = data.count(NEWLINE) or data.count(b"\r")
    left_out = lines - len(frame)
    if left_out > DAMAGED_SHARE * lines:
        raise UnreadableLog(
            where,
            f"{left_out} of {lines} lines have another number of cells",
            f"{layout.width} cells a line",
            "export the log again",
        )
    return frame, f"{max(1, left_out)} lines with too many cells, the first near line {_line_in(reason, layout)}"


def _line_in(reason: str, layout: Layout) -> int:
    match = re.search(r"line (\d+)", reason)
    return layout.first_line + int(match[1]) - 1 if match else layout.first_line


def _refuse_if_marks_differ(reason: str, data: bytes, layout: Layout, where: str) -> None:
    """A line with too many cells may be one whose numbers have a decimal comma among commas."""
    line_number = _line_in(reason, layout)
    lines = data.split(NEWLINE, line_number - layout.first_line + 1)
    line = lines[min(line_number - layout.first_line, len(lines) - 1)].decode("latin-1").strip()
    cells = line.split(layout.delimiter)
    pieces = [c.strip() for c in cells]
    if layout.delimiter == "," and len(cells) > layout.width and all(re.fullmatch(r"[+-]?[\d.]+", c) for c in pieces):
        raise UnreadableLog(
            f"{where}:{line_number}",
            f"{len(cells)} numbers in {line[:60]!r} where the other lines have {layout.width}: it may hold decimal or"
            " thousands commas, and which cell they belong to cannot be told",
            f"{layout.width} numbers parted by commas, with decimal points",
            "export the log again with semicolons between the columns, or with decimal points",
        )


def _numbers(column: pd.Series[Any], spot: _Spot) -> tuple[Array, str]:
    """A column as float64 and a note on cells that are no numbers."""
    import pandas as pd

    if column.dtype.kind in "fiu":
        values = column.to_numpy(dtype=np.float64)
        _refuse_thousand_jumps(values, spot)
        return values, ""
    if column.dtype.kind == "b":
        return np.full(len(column), np.nan), ""
    values = np.asarray(pd.to_numeric(column, errors="coerce"), dtype=np.float64)
    bad = np.flatnonzero(np.isnan(values) & column.notna().to_numpy())
    cells = [str(c).strip() for c in column.iloc[bad[:2000]]]
    texts = [(int(row), cell) for row, cell in zip(bad, cells, strict=False) if cell.lower() not in MISSING]
    for row, cell in texts:
        if NUMBER.fullmatch(cell) or SPACED.fullmatch(cell):
            raise mixed_marks(spot.at(row), cell, spot.layout.rows[0][spot.layout.headings.index(spot.heading)])
    if len(bad) > DAMAGED_SHARE * len(values):
        row, cell = texts[0] if texts else (int(bad[0]), "")
        raise UnreadableLog(
            spot.at(row),
            f"found {cell!r} and {len(bad) - 1} more cells that are no numbers",
            "numbers",
            "export the log again",
        )
    _refuse_thousand_jumps(values, spot)
    if not texts:
        return values, ""
    row, cell = texts[0]
    line = spot.layout.first_line + row
    return values, f"{len(bad)} cells of column {spot.heading!r} that are no numbers, first {cell!r} in line {line}"


def _refuse_thousand_jumps(values: Array, spot: _Spot) -> None:
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
    if np.unique(values[lost]).size >= 3:
        row = int(lost[0])
        near = values[parts[np.argmin(np.abs(parts - row))]]
        raise UnreadableLog(
            spot.at(row),
            f"found {values[row]:g} next to {near:g}, and {lost.size - 1} more such: as it stands"
            f" it is {values[row]:g}, with the decimal mark lost on the way it is {values[row] / 1000:g}",
            "numbers that go on from row to row",
            "export the log again, past any spreadsheet, with a decimal point",
        )


def _clock_text(column: pd.Series[Any], spot: _Spot) -> tuple[Array, str]:
    """Clock times as text, with or without a date, in seconds since midnight."""
    import pandas as pd

    text = column.astype(str).str.extract(r"(?:(\d+):)?(\d+):(\d+(?:[.,]\d+)?)\s*$")
    hours, minutes = (pd.to_numeric(text[i], errors="coerce") for i in (0, 1))
    seconds = pd.to_numeric(text[2].str.replace(",", "."), errors="coerce")
    values = np.asarray(3600 * hours.fillna(0) + 60 * minutes + seconds, dtype=np.float64)
    bad = np.flatnonzero(np.isnan(values) & column.notna().to_numpy())
    if len(bad) > DAMAGED_SHARE * len(values):
        raise UnreadableLog(
            spot.at(int(bad[0])),
            f"found {column.iloc[int(bad[0])]!r}",
            "a clock time such as 09:00:00.010",
            "export the log again",
        )
    return values, f"{len(bad)} cells of column {spot.heading!r} that are no clock times" if len(bad) else ""
