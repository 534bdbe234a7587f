"""One record as it was brought in: its text laid out, before anyone says which form of test it is."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass, replace
from functools import cached_property
from pathlib import Path
from typing import Literal

from dampkit.bench.cells import split_line
from dampkit.bench.channels import Channels
from dampkit.bench.declared import BenchSpec
from dampkit.bench.encoding import as_8_bit
from dampkit.bench.headings import Heading, read_heading
from dampkit.bench.layout import Layout, find_layout, lines_of
from dampkit.bench.run import Run
from dampkit.bench.signs import Orientation
from dampkit.errors import UnreadableLog

FormName = Literal["time-series", "loops", "table", "hand-test"]
MOST_CELL_ROWS = 20_000  # rows of a record that is read cell by cell


@dataclass(frozen=True)
class Row:
    """A row of the table as written; `line` is its place in the file, from 1."""

    line: int
    cells: tuple[str, ...]


@dataclass(frozen=True)
class Record:
    """`file` is the name alone, `where` the path as given, for an error; `text` is 8-bit, `layout` says how to read it."""

    file: str
    where: str
    sha256: str
    text: bytes
    layout: Layout
    spec: BenchSpec

    @cached_property
    def headings(self) -> tuple[Heading, ...]:
        """What each column's heading and the unit below it say."""
        below = self.layout.units
        return tuple(read_heading(h, below[i] if i < len(below) else "") for i, h in enumerate(self.layout.headings))

    @cached_property
    def rows_about(self) -> int:
        """Lines between headings and footer."""
        return self.text.count(b"\n", self.layout.start, self.layout.stop) + 1

    @cached_property
    def rows(self) -> tuple[Row, ...]:
        """Every row as written, for a form with few of them. Raises UnreadableLog where there are too many."""
        if self.rows_about > MOST_CELL_ROWS:
            found = f"{self.rows_about} rows, too many for a table or a test by hand"
            raise UnreadableLog(self.where, found, f"at most {MOST_CELL_ROWS}", "state the form: [log] form")
        layout = self.layout
        lines = lines_of(self.text[layout.start : layout.stop], "utf-8" if layout.encoding == "utf-8" else "latin-1")
        split = ((layout.first_line + i, split_line(line.text, layout.delimiter)) for i, line in enumerate(lines))
        return tuple(Row(line, tuple(cells)) for line, cells in split if any(cells))


@dataclass(frozen=True)
class Reading:
    """A run and how its log was understood."""

    run: Run
    layout: Layout
    channels: Channels
    orientation: Orientation


def open_record(path: Path, spec: BenchSpec) -> Record:
    """Raises UnreadableLog where the file cannot be read as a table of numbers."""
    where = str(path)
    raw = _bytes(path)
    digest = hashlib.sha256(raw).hexdigest()
    text, codec, encoding = as_8_bit(raw, spec.text.encoding, where)
    del raw
    layout = replace(find_layout(text, codec, spec.text, where), encoding=encoding)
    return Record(path.name, where, digest, text, layout, spec)


def _bytes(path: Path) -> bytes:
    if path.is_dir():
        raise UnreadableLog(str(path), "this is a directory", "one log file", "name the file itself")
    try:
        return path.read_bytes()
    except FileNotFoundError:
        raise UnreadableLog(str(path), "no such file", "a log file", "check the path and the spelling") from None
    except OSError as error:
        raise UnreadableLog(
            str(path), f"cannot be opened: {error.strerror or error}", "a readable log file", "check access"
        ) from None
