"""Columns held in memory: a DataFrame or arrays, checked by the same rules as the columns of a file."""

from __future__ import annotations

import hashlib
import re
from collections.abc import Iterator, Mapping, Sequence
from functools import cached_property
from typing import TYPE_CHECKING, Any, TypeGuard

import numpy as np

from dampkit.bench import gate
from dampkit.bench.cells import Cell, Marks, kind_of, number_marks
from dampkit.bench.column import Spot, clock_times, numbers
from dampkit.bench.headings import read_heading
from dampkit.bench.layout import LONGEST_HEADING, SAMPLE, Layout
from dampkit.bench.table import Table
from dampkit.bench.units import FACTORS
from dampkit.errors import DataError, UnreadableLog, printable
from dampkit.frozen import frozen
from dampkit.quantities import Array

if TYPE_CHECKING:
    import pandas as pd

COLUMNS_EXPECTED = "columns of numbers, one value a row, all of one length, each under its heading"
HELD = "columns in memory"
FIRST = 8  # rows shown where a reading is explained
TAB = "\t"


@frozen
class Column:
    """`numbers`: shape (rows,), NaN where there is none; or `text`, None where a cell is empty. `unit`: as the type says."""

    heading: str
    numbers: Array | None
    text: tuple[str | None, ...] = ()
    unit: str = ""

    @property
    def rows(self) -> int:
        return len(self.text) if self.numbers is None else self.numbers.size

    def cell(self, row: int) -> str:
        if self.numbers is None:
            return self.text[row] or ""
        value = float(self.numbers[row])
        return repr(value) if np.isfinite(value) else ""

    @cached_property
    def of_clock(self) -> bool:
        return any(kind_of(cell or "", TAB) == "clock" for cell in self.text[:SAMPLE])


@frozen
class Columns:
    """All of a record that is held in memory; rows are counted from 0. `headed`: False of a plain two-dimensional array."""

    columns: tuple[Column, ...]
    headed: bool = True

    @property
    def rows(self) -> int:
        return self.columns[0].rows

    @cached_property
    def sha256(self) -> str:
        """Of the values, whatever they were held in.

        Hashed are, column by column: the heading in UTF-8, a zero byte, the number of rows in decimal digits, a line
        feed; then each number as 8 bytes (IEEE 754 binary64, little-endian; missing is 0x7ff8000000000000), or each
        text in UTF-8 with a zero byte after it (missing is none). Clock times of type datetime are seconds from the first.
        """
        digest = hashlib.sha256()
        for column in self.columns:
            digest.update(column.heading.encode() + b"\0" + str(column.rows).encode() + b"\n")
            if column.numbers is None:
                digest.update(b"".join((cell or "").encode() + b"\0" for cell in column.text))
            else:
                digest.update(np.where(np.isnan(column.numbers), np.nan, column.numbers).astype("<f8").tobytes())
        return digest.hexdigest()

    def cells(self) -> Iterator[tuple[int, tuple[str, ...]]]:
        """Each row that is not empty, as it would be written."""
        for row in range(self.rows):
            cells = tuple(column.cell(row) for column in self.columns)
            if any(cells):
                yield row, cells

    def layout(self, decimal: str | None, where: str) -> Layout:
        """As if it were a text of cells apart by nothing. Raises UnreadableLog where decimal marks in text contradict."""
        first = range(min(FIRST, self.rows))
        return Layout(
            encoding=HELD,
            codec="utf-8",
            delimiter="",
            marks=self._marks(decimal, where),
            headings=tuple(column.heading for column in self.columns),
            units=tuple(column.unit for column in self.columns),
            rows=tuple(tuple(column.cell(row) for column in self.columns) for row in first),
            clock_columns=tuple(i for i, column in enumerate(self.columns) if column.of_clock),
            headed=self.headed,
        )

    def _marks(self, decimal: str | None, where: str) -> Marks:
        texts = [
            [
                Cell(cell, f"{where}:{row}, column {column.heading!r}")
                for row, cell in enumerate(column.text[:SAMPLE])
                if cell is not None and kind_of(cell, TAB) == "number"
            ]
            for column in self.columns
        ]
        return number_marks([cells for cells in texts if cells], decimal)

    def table(self, layout: Layout, wanted: Sequence[int], where: str) -> Table:
        """The wanted columns as `bench.table.parse` gives them. Raises UnreadableLog naming row and column."""
        read = {}
        for i in wanted:
            spot, column = Spot(where, layout.headings[i], layout), self.columns[i]
            if column.numbers is not None:
                read[i] = numbers(column.numbers.copy(), spot)  # nobody's array is changed or made read-only
                continue
            if not column.of_clock:
                read[i] = numbers(column.text, spot)
                continue
            import pandas as pd

            read[i] = clock_times(pd.Series(list(column.text), dtype=object), spot)
        return Table(
            {i: values for i, (values, _) in read.items()}, "; ".join(note for _, note in read.values() if note)
        )


def is_frame(source: object) -> TypeGuard[pd.DataFrame]:
    """Whether it is a DataFrame, without importing pandas where nobody has."""
    import sys

    pandas = sys.modules.get("pandas")
    return pandas is not None and isinstance(source, pandas.DataFrame)


def columns_of(source: pd.DataFrame | Mapping[Any, Any] | np.ndarray[Any, Any], where: str) -> Columns:
    """The columns of a DataFrame (an index that is named or of times among them), a mapping, or an array with or without names.

    Raises DataError where they are no columns of one length, and where there is more than the gate lets in.
    """
    named, headed = _named(source, where)
    if not named:
        raise DataError(where, "no column", COLUMNS_EXPECTED, "give the columns of one test")
    if len(named) > gate.COLUMNS.most:
        raise DataError(where, f"{len(named)} columns", f"at most {gate.COLUMNS.most} columns", gate.COLUMNS.do())
    columns = tuple(_column(heading, values, where) for heading, values in named)
    lengths = {column.heading: column.rows for column in columns}
    odd = next((c for c in columns if c.rows != columns[0].rows), None)
    if odd is not None:
        found = f"{lengths[odd.heading]} values where column {columns[0].heading!r} has {columns[0].rows}"
        raise DataError(
            f"{where}, column {odd.heading!r}", found, "columns of one length", "give every row a value or NaN"
        )
    if columns[0].rows == 0:
        raise DataError(where, "columns without any row", COLUMNS_EXPECTED, "give the rows of one test")
    if 8 * columns[0].rows * len(columns) > gate.LOG.most:
        raise DataError(where, f"more than {gate.LOG.most} {gate.LOG.what}", COLUMNS_EXPECTED, gate.LOG.do())
    return Columns(columns, headed)


def _named(source: Any, where: str) -> tuple[list[tuple[str, Any]], bool]:
    if is_frame(source):
        own = [(source.columns[i], source.iloc[:, i]) for i in range(source.shape[1])]
        return [(_text(name), values) for name, values in (*_index(source), *own)], True
    if isinstance(source, Mapping):
        return [(_text(name), values) for name, values in source.items()], True
    if source.dtype.names:
        return [(_text(name), source[name]) for name in source.dtype.names], True
    if source.ndim != 2:
        raise DataError(
            where, f"an array of shape {source.shape}", "shape (rows, columns)", "give a mapping of headings to columns"
        )
    return [(f"column {i + 1}", source[:, i]) for i in range(source.shape[1])], False


def _index(frame: pd.DataFrame) -> list[tuple[object, Any]]:
    """What of the index is a column: what has a name, and times without one."""
    levels = [frame.index.get_level_values(i) for i in range(frame.index.nlevels)]
    named = [("time" if level.name is None and level.dtype.kind in "mM" else level.name, level) for level in levels]
    return [(name, level) for name, level in named if name is not None]


def _text(name: object) -> str:
    parts = name if isinstance(name, tuple) else (name,)
    return " ".join(printable(" ".join(str(part) for part in parts)[:LONGEST_HEADING]).split())


def _column(heading: str, given: Any, where: str) -> Column:
    import pandas as pd

    spot = f"{where}, column {heading!r}"
    try:
        values = np.ma.filled(given.astype(np.float64), np.nan) if isinstance(given, np.ma.MaskedArray) else given
        plain = values if isinstance(values, pd.Series | pd.Index) else np.asarray(values)
        if plain.ndim != 1:
            raise DataError(
                spot, f"values of shape {plain.shape}", "one value a row", "give one column for each heading"
            )
        series = pd.Series(plain).reset_index(drop=True)
        series = series.astype(object).infer_objects() if series.dtype.kind == "O" else series
        return _typed(heading, series, spot)
    except (ValueError, TypeError) as error:
        found = f"values that are no column: {' '.join(str(error).split())[:120]}"
        raise DataError(spot, found, COLUMNS_EXPECTED, "give numbers, or text with a number in each cell") from None


def _typed(heading: str, series: pd.Series[Any], spot: str) -> Column:
    kind = series.dtype.kind
    if kind in "fiu":
        return Column(heading, series.to_numpy(dtype=np.float64, na_value=np.nan))
    if kind == "b":  # yes and no are no measurement; a file's are left out likewise
        return Column(heading, np.full(len(series), np.nan))
    if kind in "mM":
        since = series if kind == "m" else series - series.min()
        seconds = since.dt.total_seconds().to_numpy(dtype=np.float64)
        unit = read_heading(heading).by_unit.get("time", "s")
        return Column(heading, seconds / FACTORS["time"][unit], unit=unit)
    if kind != "O":
        raise DataError(spot, f"values of type {series.dtype}", "numbers, times or text", "give real numbers")
    missing = series.isna() | series.map(lambda cell: isinstance(cell, bool))
    return Column(
        heading, None, tuple(None if no else str(cell).strip() for cell, no in zip(series, missing, strict=True))
    )


def said_of_data(error: UnreadableLog, where: str) -> DataError:
    """The same error for who gave columns: a row in the place of a line, and what can be done about values in memory."""
    place = re.sub(rf"^{re.escape(where)}:(\d+)", rf"{where}, row \1", error.where)
    do = (
        error.do
        if "bench.toml" in error.do or "environment" in error.do
        else "correct these values, or leave their rows out"
    )
    return DataError(place, error.found, error.expected, do)
