"""How the text of a log is laid out: encoding, delimiter, decimal mark, preamble, headings, rows of numbers, footer.

Only the first and last bytes are looked at; the numbers in between are parsed once, later.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Sequence
from dataclasses import replace
from itertools import accumulate
from typing import NamedTuple

from dampkit.bench.cells import DELIMITER_NAMES, Cell, Marks, kind_of, listed, number_marks, split_line
from dampkit.bench.declared import Text
from dampkit.bench.headings import read_heading
from dampkit.bench.units import kinds_with_unit
from dampkit.errors import UnreadableLog, printable
from dampkit.frozen import frozen

HEAD, TAIL = 1 << 16, 1 << 14  # bytes
SAMPLE = 200  # lines that the delimiter is judged by
STEADY = 3  # rows of numbers in a row with which the table begins
MOSTLY = 0.8
MOST_OPTIONAL = 3  # columns at the end that few rows fill
LONGEST_HEADING = 80  # characters; longer ones are cut
HEADING_WITHIN = 40  # lines above the numbers
DELIMITERS = (";", "\t", ",", "|", " ")


class Line(NamedTuple):
    number: int  # from 1
    start: int  # byte
    text: str


@frozen
class Grid:
    """A delimiter and what splitting by it gives: cells in a row, and the columns that hold values.

    `optional`: columns after those, headed but filled in few rows, as remarks of a logger are.
    """

    delimiter: str
    width: int
    numeric: tuple[int, ...]
    optional: int = 0

    def is_row(self, cells: Sequence[str], short: bool = False) -> bool:
        """True for a row of the table: all cells there, values or gaps where values belong, at least one value.

        `short`: also one that ends early, as where the longer one of two groups goes on alone.
        """
        least = 2 if short else self.width
        if not least <= len(cells) <= self.width + self.optional:
            return False
        kinds = [kind_of(cells[i], self.delimiter) for i in self.numeric if i < len(cells)]
        return "text" not in kinds and ("number" in kinds or "clock" in kinds)


@frozen
class Layout:
    """`start` and `stop` are the bytes between which the rows of numbers stand; `first_line` is the first one's number.

    `paired`: every number is split in two by a comma that is delimiter and decimal mark at once.
    """

    encoding: str
    codec: str  # of the text as it is held
    delimiter: str
    marks: Marks
    headings: tuple[str, ...]
    units: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]  # the first few, as written
    clock_columns: tuple[int, ...]
    headed: bool
    preamble: tuple[str, ...] = ()
    footer: tuple[str, ...] = ()
    start: int = 0
    stop: int = 0
    first_line: int = 0
    paired: bool = False
    quoted: bool = False
    padded: bool = False  # blanks after the delimiter
    optional: int = 0  # columns at the end that few rows have

    @property
    def width(self) -> int:
        return len(self.headings)

    def described(self) -> str:
        if not self.delimiter:
            return self.encoding
        decimal = "decimal comma" if self.marks.decimal == "," or self.paired else "decimal point"
        return f"{self.encoding} text, columns apart by {DELIMITER_NAMES[self.delimiter]}, {decimal}"


def find_layout(raw: bytes, encoding: str, declared: Text, where: str) -> Layout:
    """Lay out a log held as 8-bit text.

    Raises UnreadableLog where no table of numbers is found or its reading stays open.
    """
    lines, complete, grid = _head(raw, encoding, declared, where)
    grid = _with_optional(lines, grid)
    first = _first_row(lines, grid)
    if first is None:
        raise _no_table(where, lines)
    cells = [split_line(line.text, grid.delimiter) for line in lines[: first + SAMPLE]]
    headings_at, paired = _find_headings(lines, first, grid, where)
    headings = _headings(lines, headings_at, grid, paired)
    short = sum(read_heading(h).channels == {"force"} for h in headings) > 1  # groups side by side end at other rows
    last, footer = _find_end(raw, encoding, grid, lines if complete else None, lines[first].start, short=short)
    numbered = [(lines[i].number, c) for i, c in enumerate(cells[first:], start=first) if grid.is_row(c)]
    sample = [c for _, c in numbered]
    return Layout(
        encoding=encoding,
        codec=encoding,
        delimiter=grid.delimiter,
        marks=Marks() if paired else _marks(numbered, grid, headings, declared, where),
        preamble=tuple(printable(line.text) for line in lines[: first if headings_at is None else headings_at]),
        headings=headings,
        units=_units_below(cells, headings_at, first),
        footer=footer,
        rows=tuple(tuple(_joined(c) if paired else c) for c in sample[:8]),
        clock_columns=tuple(i for i in grid.numeric if any(kind_of(c[i], grid.delimiter) == "clock" for c in sample)),
        start=lines[first].start,
        stop=last,
        first_line=lines[first].number,
        paired=paired,
        quoted=any('"' in line.text for line in lines[first : first + SAMPLE]),
        padded=any(f"{grid.delimiter} " in line.text for line in lines[first : first + SAMPLE]),
        headed=headings_at is not None,
        optional=grid.optional,
    )


def lines_of(raw: bytes, encoding: str, start: int = 0) -> list[Line]:
    pieces = raw.splitlines(keepends=True)
    begins = accumulate(map(len, pieces), initial=start)
    texts = (piece.rstrip(b"\r\n").decode(encoding, errors="replace") for piece in pieces)
    return [Line(*line) for line in zip(range(1, len(pieces) + 1), begins, texts, strict=False)]


def _head(raw: bytes, encoding: str, declared: Text, where: str) -> tuple[list[Line], bool, Grid]:
    """The first lines, enough of them that rows of numbers are among them, and the grid that they lie on."""
    size = HEAD
    while True:
        complete = size >= len(raw)
        lines = lines_of(raw[:size], encoding)
        lines = lines if complete else lines[:-1]
        grid = _grid([line.text for line in lines[-SAMPLE:]], declared.delimiter)
        if grid:
            return lines, complete, grid
        if complete:
            raise _no_table(where, lines)
        size *= 16


def _grid(texts: list[str], declared: str | None) -> Grid | None:
    """The delimiter by which most cells are values; of equals the one that gives more rows, then the earlier one."""
    best: tuple[float, int] = (0.0, 0)
    grid = None
    for delimiter in (declared,) if declared else DELIMITERS:
        candidate, score = _candidate(texts, delimiter)
        if candidate and score > best:
            best, grid = score, candidate
    return grid


def _candidate(texts: list[str], delimiter: str) -> tuple[Grid | None, tuple[float, int]]:
    rows = [split_line(text, delimiter) for text in texts]
    kinds = [[kind_of(cell, delimiter) for cell in row] for row in rows]
    kinds = [k for k in kinds if len(k) > 1 and k.count("number") + k.count("clock") > 1]
    if not kinds:
        return None, (0.0, 0)
    width = Counter(len(k) for k in kinds).most_common(1)[0][0]
    kinds = [k for k in kinds if len(k) == width]
    values = [sum(k[i] in ("number", "clock") for k in kinds) for i in range(width)]
    texts_in = [sum(k[i] == "text" for k in kinds) for i in range(width)]
    numeric = tuple(i for i in range(width) if values[i] and values[i] >= MOSTLY * (values[i] + texts_in[i]))
    if len(numeric) < 2:
        return None, (0.0, 0)
    share = sum(values) / max(1, sum(values) + sum(texts_in))
    return Grid(delimiter, width, numeric), (round(share, 2), len(kinds))


def _with_optional(lines: list[Line], grid: Grid) -> Grid:
    """The grid with the columns at its end that headings name and only some rows fill."""
    if grid.delimiter == " ":
        return grid
    wider_ones = [line.text for line in lines if line.text.count(grid.delimiter) >= grid.width]
    cells = [split_line(text, grid.delimiter) for text in wider_ones]
    for optional in range(1, MOST_OPTIONAL + 1):
        wide = [row for row in cells if len(row) == grid.width + optional]
        heads = [row for row in wide if {kind_of(c, grid.delimiter) for c in row} <= {"text", "missing"}]
        known = any(sum(read_heading(name).recognised for name in row) > 1 for row in heads)
        wider = replace(grid, optional=optional)
        if known and any(wider.is_row(row) and kind_of(row[-1], grid.delimiter) == "text" for row in wide):
            return wider
    return grid


def _first_row(lines: list[Line], grid: Grid) -> int | None:
    """The first row from which several follow each other; in a short log as many as there are."""
    for steady in range(STEADY, 0, -1):
        in_a_row = 0
        for i, line in enumerate(lines):
            in_a_row = in_a_row + 1 if grid.is_row(split_line(line.text, grid.delimiter)) else 0
            if in_a_row == steady:
                return i + 1 - steady
    return None


def _find_headings(lines: list[Line], first: int, grid: Grid, where: str) -> tuple[int | None, bool]:
    """Row of the headings above the numbers, and whether each of them heads two cells (comma for everything)."""
    best, at, paired = -1, None, False
    for i in range(first - 1, max(-1, first - 1 - HEADING_WITHIN), -1):
        names = heading_cells(lines[i].text, grid)
        halves = grid.delimiter == "," and 2 * len(names) == grid.width
        known = _worth_as_headings(names, grid)
        if (len(names) in (grid.width, grid.width + grid.optional) or halves) and known > best:
            best, at, paired = known, i, halves
    if at is None and first:
        nearest = heading_cells(lines[first - 1].text, grid)
        if sum(read_heading(name).recognised for name in nearest) > 1:
            raise UnreadableLog(
                f"{where}:{lines[first].number}",
                f"{grid.width} values in a row under {len(nearest)} headings ({listed(nearest)}){_why_more(grid, nearest)}",
                "one heading a column",
                "export the log with one heading a column; if numbers have a decimal comma, put semicolons between",
            )
    return at, paired


def _why_more(grid: Grid, headings: list[str]) -> str:
    if grid.delimiter != "," or not len(headings) < grid.width < 2 * len(headings):
        return ""
    return ": comma may be delimiter and decimal mark at once, and which numbers it splits cannot be told"


def _worth_as_headings(names: list[str], grid: Grid) -> int:
    """Words that name a channel count most, then units; rows of units alone or with numbers count least."""
    read = [read_heading(name) for name in names]
    if any(kind_of(name, grid.delimiter) in ("number", "clock") for name in names):
        return -1
    if all(kinds_with_unit(name) for name in names if name):
        return 0 if any(names) else -1
    return 1 + sum(h.recognised for h in read) + 100 * sum(bool(h.by_word) for h in read)


def heading_cells(text: str, grid: Grid) -> list[str]:
    """Cells of a possible row of headings: empty cells at the end off, a comment mark off where it is one cell too many.

    Between blanks, headings of several words are kept together where two blanks or brackets show it.
    """
    text = text.strip("\r\n" if grid.delimiter == "\t" else None)
    bare = text.lstrip("#%*").strip() if text[:1] in ("#", "%", "*") else text
    ways = [split_line(text, grid.delimiter), split_line(bare, grid.delimiter)]
    if grid.delimiter == " ":
        ways += [way for line in (text, bare) for way in (re.split(r"\s{2,}|\t", line), _bracketed_apart(line))]
    for names in ways:
        while names and not names[-1] and len(names) > grid.width:
            names.pop()
    fitting = (grid.width, grid.width + grid.optional)
    return next((names for names in ways if len(names) in fitting), ways[-1])


def _bracketed_apart(line: str) -> list[str]:
    return re.sub(r"\s+(?=[\[(])", "", line).split()


def _headings(lines: list[Line], at: int | None, grid: Grid, paired: bool) -> tuple[str, ...]:
    width = grid.width // 2 if paired else grid.width
    names = heading_cells(lines[at].text, grid) if at is not None else []
    names = [" ".join(printable(name[:LONGEST_HEADING]).split()) for name in names]
    return tuple(names[i] if i < len(names) and names[i] else f"column {i + 1}" for i in range(width))


def _units_below(cells: list[list[str]], at: int | None, first: int) -> tuple[str, ...]:
    """The row of units between headings and numbers; empty where there is none."""
    if at is None:
        return ()
    for row in cells[at + 1 : first]:
        if sum(bool(kinds_with_unit(cell)) for cell in row) >= 2:
            return tuple(row)
    return ()


def _find_end(
    raw: bytes, encoding: str, grid: Grid, all_lines: list[Line] | None, start: int, *, short: bool = False
) -> tuple[int, tuple[str, ...]]:
    """Byte after the last row of numbers, and the lines of text that follow it."""
    lines = all_lines
    if lines is None:
        begin = max(start, raw.rfind(b"\n", 0, max(0, len(raw) - TAIL)) + 1)
        lines = lines_of(raw[begin:], encoding, begin)
    for i in range(len(lines) - 1, -1, -1):
        if lines[i].start >= start and grid.is_row(split_line(lines[i].text, grid.delimiter), short):
            end = lines[i + 1].start if i + 1 < len(lines) else len(raw)
            return end, tuple(printable(line.text) for line in lines[i + 1 :] if line.text.strip())
    return len(raw), ()


def _marks(
    rows: list[tuple[int, list[str]]], grid: Grid, headings: tuple[str, ...], declared: Text, where: str
) -> Marks:
    columns = [
        [
            Cell(cells[i], f"{where}:{line}, column {headings[i]!r}")
            for line, cells in rows
            if kind_of(cells[i], grid.delimiter) == "number"
        ]
        for i in range(grid.width)
    ]
    return number_marks([c for c in columns if c], declared.decimal)


def _joined(cells: list[str]) -> list[str]:
    return [f"{a}.{b}" for a, b in zip(cells[::2], cells[1::2], strict=True)]


def _no_table(where: str, lines: list[Line]) -> UnreadableLog:
    if not any(line.text.strip() for line in lines):
        found = "the log holds no text"
    else:
        shown = next(line for line in lines if line.text.strip())
        found = f"no table of numbers with two columns or more; line {shown.number} is {shown.text.strip()[:50]!r}"
    return UnreadableLog(
        where,
        found,
        "rows of numbers, one a sample, with at least a force and a displacement or velocity",
        "export the log as CSV; if columns are parted by something unusual, state it in bench.toml: [text] delimiter",
    )
