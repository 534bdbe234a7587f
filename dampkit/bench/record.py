"""One record as it was brought in: its text laid out, before anyone says which form of test it is."""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from pathlib import Path
from typing import Literal

from dampkit.bench import gate
from dampkit.bench.arm import at_the_arm
from dampkit.bench.cells import split_line
from dampkit.bench.channels import Channels
from dampkit.bench.declared import BenchSpec, Told
from dampkit.bench.declared import Text as WritingHere
from dampkit.bench.encoding import as_8_bit
from dampkit.bench.given import Given, given
from dampkit.bench.headings import Heading, read_heading
from dampkit.bench.layout import Layout, find_layout, lines_of
from dampkit.bench.memory import Columns
from dampkit.bench.run import Run
from dampkit.bench.signs import Orientation
from dampkit.bench.table import Rows, Table, parse
from dampkit.bench.told import spec_with, told_of
from dampkit.bench.unpack import as_text
from dampkit.errors import UnreadableLog
from dampkit.frozen import frozen

FormName = Literal["time-series", "loops", "table", "hand-test"]
MOST_CELL_ROWS = 20_000  # rows of a record that is read cell by cell


@frozen
class Row:
    """A row of the table as written; `line` is its place in the file, from 1."""

    line: int
    cells: tuple[str, ...]


@dataclass
class Held:
    """The 8-bit text of a record; a reader that has parsed it lets it go, since it may be large."""

    text: bytes

    def let_go(self) -> None:
        self.text = b""


@frozen
class Record:
    """`file` is the name alone, `where` the path as given, for an error; `layout` says how to read the text `held`.

    `columns` in the place of a text where it was given as such.
    """

    file: str
    where: str
    sha256: str
    held: Held
    layout: Layout
    spec: BenchSpec
    told: Told
    columns: Columns | None = None
    arm_m: float | None = None  # of a record in torque and angle: the arm at whose end it is read

    @property
    def text(self) -> bytes:
        return self.held.text

    @cached_property
    def headings(self) -> tuple[Heading, ...]:
        """What each column's heading and the unit below it say."""
        below = self.layout.units
        return tuple(read_heading(h, below[i] if i < len(below) else "") for i, h in enumerate(self.layout.headings))

    @cached_property
    def rows_about(self) -> int:
        """Lines between headings and footer."""
        return self._ends_of_lines + 1 if self.columns is None else self.columns.rows

    @cached_property
    def _ends_of_lines(self) -> int:
        return Rows(self.text, self.layout.start, self.layout.stop).lines

    @cached_property
    def rows(self) -> tuple[Row, ...]:
        """Every row as written, for a form with few of them. Raises UnreadableLog where there are too many."""
        if self.rows_about > MOST_CELL_ROWS:
            found = f"{self.rows_about} rows, too many for a table or a test by hand"
            raise UnreadableLog(self.where, found, f"at most {MOST_CELL_ROWS}", "state the form: [log] form")
        if self.columns is not None:
            return tuple(Row(row, cells) for row, cells in self.columns.cells())
        layout = self.layout
        lines = lines_of(self.text[layout.start : layout.stop], layout.codec)
        split = ((layout.first_line + i, split_line(line.text, layout.delimiter)) for i, line in enumerate(lines))
        return tuple(Row(line, tuple(cells)) for line, cells in split if any(cells))

    def table(self, layout: Layout, wanted: Sequence[int]) -> Table:
        """The wanted columns as numbers, by a layout of this record. Raises UnreadableLog naming line and column."""
        if self.columns is not None:
            return self.columns.table(layout, wanted, self.where)
        whole = (layout.start, layout.stop) == (self.layout.start, self.layout.stop)
        rows = Rows(self.text, layout.start, layout.stop, self._ends_of_lines if whole else None)
        return parse(rows, layout, wanted, self.where)


@frozen
class Reading:
    """A run and how its log was understood."""

    run: Run
    layout: Layout
    channels: Channels
    orientation: Orientation


def open_record(source: Path | Given, spec: BenchSpec) -> Record:
    """Raises UnreadableLog where what is given cannot be read as a table of numbers."""
    source = source if isinstance(source, Given) else given(source)
    told = told_of(source.file, spec)
    spec = spec_with(told, spec)
    if source.columns is None:
        return _turned(_of_text(source, spec, told))
    held, where = source.columns, source.where
    layout = held.layout(spec.text.decimal, where)
    return _turned(Record(source.file, where, held.sha256, Held(b""), layout, spec, told, held))


def _turned(record: Record) -> Record:
    """The record; one in torque and angle as forces and travel at the arm's end."""
    layout, spec = at_the_arm(record.layout, record.spec, record.where)
    arm_mm = spec.motion.eye_arm_mm
    if spec is record.spec or arm_mm is None:
        return record
    return replace(record, layout=layout, spec=spec, arm_m=1e-3 * arm_mm)


def _of_text(source: Given, spec: BenchSpec, told: Told) -> Record:
    where, raw = source.where, source.content()
    digest = hashlib.sha256(raw).hexdigest()
    found = as_text(raw, spec, where)
    del raw
    if found.made_here:
        spec = spec.model_copy(update={"text": WritingHere(delimiter="\t", decimal=".")})
    text, codec, encoding = as_8_bit(
        found.data, "utf-8" if found.made_here or source.decoded else spec.text.encoding, where
    )
    gate.check_lines(text, where)
    layout = find_layout(text, codec, spec.text, where)
    layout = replace(layout, encoding=found.kind + ("" if found.made_here else encoding))
    return Record(source.file, where, digest, Held(text), layout, spec, told)
