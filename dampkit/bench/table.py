"""The rows of numbers, parsed once."""

from __future__ import annotations

import csv
import io
import re
import warnings
from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import chain
from typing import TYPE_CHECKING, Any

import numpy as np

from dampkit.bench.column import DAMAGED_SHARE, Spot, clock_times, numbers
from dampkit.bench.layout import Layout
from dampkit.bench.words import MISSING
from dampkit.errors import UnreadableLog
from dampkit.frozen import frozen
from dampkit.quantities import Array

if TYPE_CHECKING:
    import pandas as pd

COMMA, POINT, NEWLINE = b",", b".", b"\n"
PIECE, BLOCK = 1 << 22, 1 << 19  # bytes that are read at once, and of them by one core


@frozen
class Table:
    """Columns by their place in the log, shape (rows,), NaN where a cell is empty or unreadable."""

    columns: dict[int, Array]
    damaged: str = ""  # what was unreadable and left out; empty where nothing was


@frozen
class Rows:
    """The bytes that hold the rows of numbers, from `start` to `stop`; nothing is copied to cut off what stands around.

    `counted`: their ends of lines, where somebody has counted them.
    """

    text: bytes
    start: int = 0
    stop: int | None = None
    counted: int | None = None

    def stream(self) -> io.BytesIO:
        stream = io.BytesIO(self.text[: self.stop])
        stream.seek(self.start)
        return stream

    def alone(self) -> bytes:
        return self.text[self.start : self.stop]

    def pieces(self) -> Iterator[memoryview]:
        """Whole lines, some millions of bytes at a time."""
        at, end = self.start, len(self.text) if self.stop is None else self.stop
        while at < end:
            stop = end if end - at <= PIECE else self.text.rfind(NEWLINE, at, at + PIECE) + 1 or end
            yield memoryview(self.text)[at:stop]
            at = stop

    @property
    def lines(self) -> int:
        """Ends of lines."""
        return self.text.count(NEWLINE, self.start, self.stop) if self.counted is None else self.counted


def parse(rows: Rows, layout: Layout, wanted: Sequence[int], where: str) -> Table:
    """The wanted columns of the rows of numbers; clock columns in seconds since midnight of the first day.

    Raises UnreadableLog naming line and column where cells contradict the layout.
    """
    if layout.paired:
        rows = Rows(_commas_inside_numbers_to_points(rows.alone(), layout, where))
    rows = _plain_characters(rows)
    split_clock = _clock_to_split(layout, wanted)
    if split_clock is not None:
        rows = replace(rows, text=rows.text.translate(bytes.maketrans(b":", layout.delimiter.encode())))
    extra = 2 if split_clock is not None else 0
    names = {c + extra if split_clock is not None and c > split_clock else c: c for c in wanted}
    places = sorted({*names, *range(split_clock, split_clock + 3)} if split_clock is not None else names)
    width = layout.width + layout.optional + extra
    plain = _plain(rows, layout, width, places)
    frame, skipped = (plain, "") if plain is not None else _frame(rows, layout, width, places, where)
    damaged: list[str] = [skipped] if skipped else []
    columns: dict[int, Array] = {}
    for place in places:
        column = names.get(place, split_clock if split_clock is not None else place)
        text_clock = column in layout.clock_columns and split_clock is None
        heading = layout.headings[column]
        spot = Spot(where, heading, layout)
        read: Any = clock_times if text_clock else numbers
        columns[place], note = read(frame[place], spot)
        del frame[place]
        damaged += [note] if note else []
    if split_clock is not None:
        columns[split_clock] = 3600 * columns[split_clock] + 60 * columns[split_clock + 1] + columns[split_clock + 2]
    return Table({c: columns[place] for place, c in names.items()}, "; ".join(damaged))


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


def _plain_characters(rows: Rows) -> Rows:
    """Typographic minus signs and no-break blanks of UTF-8 made plain; nothing is copied where there are none."""
    for odd, plain in ((b"\xe2\x88\x92", b"-"), (b"\xe2\x80\xaf", b" "), (b"\xc2\xa0", b" ")):
        if rows.text.find(odd, rows.start, rows.start + 4096) >= 0:
            rows = Rows(rows.alone().replace(odd, plain))
    return rows


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


def _plain(rows: Rows, layout: Layout, width: int, places: list[int]) -> dict[int, Array] | None:
    """The wanted columns of a log of plain numbers and gaps, a cell each; None of any other.

    Read piece by piece into their places, so that a long log stands in memory once as text and once as numbers.
    """
    if layout.marks.thousands or layout.delimiter == " ":
        return None
    import pyarrow as pa
    from pyarrow import csv as arrow

    wanted = [str(place) for place in places]
    settings = {
        "read_options": arrow.ReadOptions(column_names=[str(i) for i in range(width)], block_size=BLOCK),
        "parse_options": arrow.ParseOptions(delimiter=layout.delimiter, quote_char=False, ignore_empty_lines=False),
        "convert_options": arrow.ConvertOptions(
            include_columns=wanted,
            column_types=dict.fromkeys(wanted, pa.float64()),
            null_values=sorted(MISSING),
            decimal_point=layout.marks.decimal,
        ),
        "memory_pool": pa.system_memory_pool(),  # which gives back what it no longer needs
    }
    columns, row = {place: np.empty(rows.lines + 1) for place in places}, 0
    try:
        tables = (arrow.read_csv(pa.BufferReader(piece), **settings) for piece in rows.pieces())
        for batch in chain.from_iterable(table.to_batches() for table in tables):
            for values, cells in zip(columns.values(), batch.columns, strict=True):
                values[row : row + len(cells)] = _floats(cells)
            row += batch.num_rows
    except ValueError:  # not plain; or lines that end in more ways than one, and so are more
        return None
    return {place: values[:row] for place, values in columns.items()}


def _floats(cells: Any) -> Array:
    """A block's cells as numbers, NaN where one is empty; pyarrow's own way to numpy would import pandas."""
    there, values = cells.buffers()
    found = np.frombuffer(values, np.float64)[cells.offset :][: len(cells)]
    if there is None:
        return found
    held = np.unpackbits(np.frombuffer(there, np.uint8), bitorder="little")[cells.offset :][: len(cells)]
    return np.where(held, found, np.nan)


def _frame(rows: Rows, layout: Layout, width: int, places: list[int], where: str) -> tuple[pd.DataFrame, str]:
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
        "quoting": csv.QUOTE_MINIMAL if layout.quoted else csv.QUOTE_NONE,
    }
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # pandas on mixed columns: looked at cell by cell below
        try:
            return _exact_where_no_number(pd.read_csv(rows.stream(), **settings), rows, settings), ""
        except pd.errors.ParserError as error:
            reason = str(error)
        if "inside string" in reason:
            raise _open_quote(reason, layout, where)
        _refuse_if_marks_differ(reason, rows.alone(), layout, where)
        settings["on_bad_lines"] = "skip"
        frame = _exact_where_no_number(pd.read_csv(rows.stream(), **settings), rows, settings)
    lines = rows.lines
    left_out = max(1, lines - len(frame))
    first = f"{where}:{_line_in(reason, layout)}"
    if left_out > DAMAGED_SHARE * lines:
        found = f"{left_out} of {lines} lines, this one first, have too many cells"
        raise UnreadableLog(first, found, f"{layout.width} cells a line", "export the log again")
    return frame, f"{left_out} lines with too many cells, the first near line {_line_in(reason, layout)}"


def _exact_where_no_number(frame: pd.DataFrame, rows: Rows, settings: dict[str, Any]) -> pd.DataFrame:
    """Columns that hold more than numbers, read again as the text that stands in the log."""
    import pandas as pd

    mixed = [c for c in frame.columns if frame[c].dtype.kind not in "fiub"]
    if mixed:
        frame[mixed] = pd.read_csv(rows.stream(), **{**settings, "usecols": mixed, "dtype": str})
    return frame


def _open_quote(reason: str, layout: Layout, where: str) -> UnreadableLog:
    match = re.search(r"row (\d+)", reason)
    line = layout.first_line + (int(match[1]) if match else 0)
    return UnreadableLog(
        f"{where}:{line}", "a quote is opened and never closed", "quotes in pairs", "export the log again"
    )


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
