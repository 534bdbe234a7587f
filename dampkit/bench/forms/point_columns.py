"""The columns of a table or a test by hand: what each holds, by its heading, and its numbers in SI."""

from __future__ import annotations

import math
import re
from collections.abc import Iterator, Mapping, Sequence
from functools import cached_property
from typing import Any, Literal

import numpy as np

from dampkit.bench.cells import number_of, shown
from dampkit.bench.channels import declared_column
from dampkit.bench.headings import Heading, read_heading
from dampkit.bench.points import Points, PointSet, PointsForm
from dampkit.bench.record import Record
from dampkit.bench.run import Notes
from dampkit.bench.units import UNITS, Kind, to_si
from dampkit.bench.words import MISSING, PER_SECOND, POSITIVE, QUANTITIES, way_in, words_of
from dampkit.errors import UnreadableLog
from dampkit.frozen import frozen
from dampkit.quantities import DIRECTIONS, Array, Direction, Mask

Holds = Literal[
    "velocity", "force", "travel", "duration", "temperature", "rate", "setting", "direction", "arm", "other"
]
OF_KIND: dict[Kind, Holds] = {
    "velocity": "velocity",
    "force": "force",
    "displacement": "travel",
    "time": "duration",
    "temperature": "temperature",
}
KIND_OF: dict[Holds, Kind] = {**{holds: kind for kind, holds in OF_KIND.items()}, "arm": "displacement"}
# [columns] key -> what it holds and of which direction
DECLARED: dict[str, tuple[Holds, Direction | None]] = {
    "velocity": ("velocity", None),
    "force": ("force", None),
    "temperature": ("temperature", None),
    "displacement": ("travel", None),
    "rebound_force": ("force", "rebound"),
    "compression_force": ("force", "compression"),
    "rebound_velocity": ("velocity", "rebound"),
    "compression_velocity": ("velocity", "compression"),
    "direction": ("direction", None),
    "load": ("force", None),
    "travel": ("travel", None),
    "duration": ("duration", None),
}
MOST_ROWS = 2000  # a longer record is a log; own choice


@frozen
class PointColumn:
    """One column, or one row of a table that lies on its side. `lines`: of each cell in the file."""

    heading: Heading
    cells: tuple[str, ...]
    lines: tuple[int, ...]
    holds: Holds
    way: Direction | None

    def spot(self, record: Record, row: int) -> str:
        return f"{record.where}:{self.lines[row]}, column {self.heading.text!r}"


@frozen
class PointColumns:
    """All columns of a record that is one of points."""

    record: Record
    columns: tuple[PointColumn, ...]

    @cached_property
    def rows(self) -> int:
        return len(self.columns[0].cells) if self.columns else 0

    def of(self, holds: Holds, way: Direction | None = None) -> PointColumn | None:
        """The one column that holds it. Raises UnreadableLog where several could."""
        found = [c for c in self.columns if c.holds == holds and c.way == way]
        if len(found) > 1:
            names = " and ".join(repr(c.heading.text) for c in found)
            name = f"{way} {holds}" if way else holds
            key = f"{way}_{holds}" if way else holds
            raise UnreadableLog(
                self.record.where,
                f"{names} could each be the {name}",
                "one column for it",
                f'state it in bench.toml: [columns] {key} = "..."',
            )
        return found[0] if found else None

    def si(self, column: PointColumn, assumed: str | None = None) -> Array:
        """Its numbers in SI, NaN where a cell is empty; `assumed` is the unit where nothing says one.

        Raises UnreadableLog where a cell is no number, or no unit is known.
        """
        values = numbers(column, self.record)
        if column.holds == "rate":
            return values * rate_factor(column, self.record)
        kind = KIND_OF.get(column.holds)
        if kind is None:
            return values
        unit = getattr(self.record.spec.units, kind) or column.heading.by_unit.get(kind) or assumed
        if unit is None:
            raise UnreadableLog(
                f"{self.record.where}, column {column.heading.text!r}",
                f"nothing says the unit of the {kind}",
                f"one of {', '.join(UNITS[kind])}",
                f'write it in the heading, or in bench.toml: [units] {kind} = "{UNITS[kind][0]}"',
            )
        return to_si(values, unit, kind)

    def masks(self, column: PointColumn) -> dict[Direction, Mask]:
        """Rows of each direction, by the words in a column. Raises UnreadableLog where a word is none."""
        ways = [way_in(cell) for cell in column.cells]
        if None in ways:
            row = ways.index(None)
            where, found = column.spot(self.record, row), f"found {column.cells[row]!r}"
            raise UnreadableLog(where, found, "rebound or compression", "write one of them")
        return {d: np.array([way == d for way in ways]) for d in DIRECTIONS}

    def points(self, form: PointsForm, sets: Mapping[Direction, PointSet | None], notes: Notes, **more: Any) -> Points:
        """What they come to, of the setting that bench.toml names, else all; a row is a point."""
        record, spec = self.record, self.record.spec
        points = Points(
            record.file,
            record.sha256,
            form,
            self.rows,
            self.rows,
            sets.get("rebound"),
            sets.get("compression"),
            zero_known=spec.zero.force_n is not None,
            force_percent=spec.uncertainty.force_percent,
            force_uncertainty_n=spec.uncertainty.force_n,
            history=tuple(notes.steps),
            quality=tuple(notes.quality),
            **more,
        )
        return points if spec.log.setting is None else points.of_group(spec.log.setting)

    def has_unit(self, column: PointColumn) -> bool:
        kind = KIND_OF.get(column.holds)
        return kind is None or bool(getattr(self.record.spec.units, kind) or column.heading.by_unit.get(kind))


def columns_or_why(record: Record) -> PointColumns | str:
    """The columns; of a record that can be none of points why not."""
    if record.rows_about > MOST_ROWS:
        return f"{record.rows_about} rows, more than {MOST_ROWS}"
    try:
        return point_columns(record)
    except UnreadableLog as error:
        return error.found


def point_columns(record: Record) -> PointColumns:
    """Columns with headings; or the rows of a table on its side, each begun by its name."""
    layout = record.layout
    sideways = _sideways(record)
    if sideways is not None:
        return PointColumns(record, tuple(_told(record, sideways)))
    rows = record.rows
    lines = tuple(row.line for row in rows)
    columns = [
        (heading, tuple(row.cells[i] if i < len(row.cells) else "" for row in rows), lines)
        for i, heading in enumerate(record.headings[: layout.width])
    ]
    return PointColumns(record, tuple(_told(record, columns)))


Told = tuple[Heading, tuple[str, ...], tuple[int, ...]]


def _sideways(record: Record) -> list[Told] | None:
    """A table whose rows are the quantities: no headings above, each row begun by a name."""
    rows = record.rows
    if record.layout.headed or len(rows) < 2 or any(not re.search(r"[^\W\d]", row.cells[0]) for row in rows):
        return None
    headings = [read_heading(row.cells[0]) for row in rows]
    return [
        (heading, row.cells[1:], (row.line,) * (len(row.cells) - 1))
        for heading, row in zip(headings, rows, strict=True)
    ]


def _told(record: Record, columns: Sequence[Told]) -> Iterator[PointColumn]:
    """Each column with what it holds: as declared, else by its heading."""
    headings = [heading for heading, _, _ in columns]
    named = {key: declared_column(key, headings, record.spec, record.where) for key in DECLARED}
    declared = {i: DECLARED[key] for key, i in named.items() if i is not None}
    for i, (heading, cells, lines) in enumerate(columns):
        holds, way = declared.get(i) or _by_heading(heading, cells)
        if i not in declared and holds != "other" and any(found == (holds, way) for found in declared.values()):
            holds = "other"  # another column was named for it
        yield PointColumn(heading, cells, lines, holds, way)


def _by_heading(heading: Heading, cells: Sequence[str]) -> tuple[Holds, Direction | None]:
    tokens = set(heading.tokens)
    way = way_in(" ".join(heading.tokens))  # without the unit, as `in` is an inch too
    if rate_unit(heading) is not None:
        return "rate", None
    for holds in ("direction", "setting", "arm"):
        if QUANTITIES[holds] & tokens and not {"velocity", "force"} & heading.channels:
            return holds, None
    for kind, named in OF_KIND.items():
        if kind in heading.channels and (len(heading.channels) == 1 or kind in heading.by_word):
            return named, way if named in ("velocity", "force") and not _says_sign(heading) else None
    if way is not None and not heading.by_word:
        return "force", way
    words = [c for c in cells if c and c.lower() not in MISSING]
    if words and all(way_in(c) for c in words):
        return "direction", None
    return "other", None


def _says_sign(heading: Heading) -> bool:
    """Whether a direction in the heading says what counts as positive, as in `force N (+ rebound)`."""
    return "+" in heading.text or bool(POSITIVE & words_of(heading.text))


def positive_way(heading: Heading) -> Direction | None:
    """The direction that the heading calls positive."""
    return way_in(re.sub(r"\bin\b", " ", heading.text.lower())) if _says_sign(heading) else None


def rate_unit(heading: Heading) -> str | None:
    """The unit of a crank's rate in a heading; None where it holds none."""
    text = re.sub(r"[\[\](){}]", " ", heading.text.lower())
    words = set(re.split(r"[\s_,;]+", text))
    if heading.by_unit and "hz" not in words and "rpm" not in words:
        return None
    return next((unit for unit in PER_SECOND if unit in words), None)


def rate_factor(column: PointColumn, record: Record) -> float:
    unit = rate_unit(column.heading)
    if unit is None:
        raise UnreadableLog(
            f"{record.where}, column {column.heading.text!r}",
            "nothing says the unit of the rate",
            f"one of {', '.join(PER_SECOND)}",
            "write it in the heading",
        )
    return PER_SECOND[unit]


def numbers(column: PointColumn, record: Record) -> Array:
    """Numbers as written, NaN where a cell is empty. Raises UnreadableLog where a cell is none."""
    marks = record.layout.marks
    values = [math.nan if cell.lower() in MISSING else number_of(cell, marks) for cell in column.cells]
    for row, value in enumerate(values):
        if value is None or math.isinf(value):
            found = f"found {shown(column.cells[row])}"
            raise UnreadableLog(column.spot(record, row), found, "a number", "correct the cell")
    return np.array(values, dtype=np.float64)


def step_of(column: PointColumn, columns: PointColumns, assumed: str | None = None) -> float:
    """The step in which a column is written, SI: a power of ten that divides all numbers, at most a hundredth of the
    largest."""
    as_written = _step(numbers(column, columns.record))
    whole = columns.si(column, assumed)
    known = np.nanargmax(np.abs(whole))
    return as_written * float(abs(whole[known] / numbers(column, columns.record)[known])) if whole[known] else 0.0


def _step(values: Array) -> float:
    known = np.abs(values[np.isfinite(values)])
    if not known.any():
        return 0.0
    largest = int(np.floor(np.log10(known.max())))
    for power in range(largest - 2, largest - 9, -1):
        step = 10.0**power
        if np.all(np.abs(known / step - np.rint(known / step)) < 1e-6 * np.maximum(known / step, 1.0)):
            return step
    return 0.0
