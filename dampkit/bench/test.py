"""One test of one unit, in as many records as the bench made of it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from os import PathLike
from typing import TYPE_CHECKING, Any

from dampkit.bench.declared import BenchSpec, Signs
from dampkit.bench.forms import Found, form_of
from dampkit.bench.given import Given, all_given, refuse_lone
from dampkit.bench.join import joined
from dampkit.bench.memory import said_of_data
from dampkit.bench.points import Points, joined_points
from dampkit.bench.record import FormName, Reading, Record, open_record
from dampkit.bench.run import Quality, Run, Step
from dampkit.bench.signs import work_share
from dampkit.bench.toml_file import declared
from dampkit.errors import BadSettings, DataError, UnreadableLog
from dampkit.frozen import frozen

if TYPE_CHECKING:
    from dampkit.bench.given import Source


Bench = str | PathLike[str] | Mapping[str, Any] | BenchSpec | None


@frozen
class FileRead:
    """A record of the test, as it was read."""

    file: str
    sha256: str
    form: FormName
    rows_read: int
    rows_used: int


@frozen
class Test:
    """`runs` are traced each on its own; `points` are what tables and tests by hand hold; one of the two is empty.

    Examples
    --------
    >>> dampkit.read_test(["sample_runs/loop_1.csv", "sample_runs/loop_2.csv"], bench="sample_runs/loop.bench.toml")
    <Test of 2 records
     <Run 'loop_1.csv': ...>
     <Run 'loop_2.csv': ...>>
    """

    __test__ = False  # not a test of the package itself

    runs: tuple[Run, ...]
    points: tuple[Points, ...]
    files: tuple[FileRead, ...]

    def __repr__(self) -> str:
        rows = "".join(f"\n {part!r}" for part in (*self.runs, *self.points))
        return f"<Test of {len(self.files)} records{rows}>"

    def remarked(self, quality: tuple[Quality, ...]) -> Test:
        """The same test with more remarks, once each."""
        first, *more = self.runs or self.points
        remarked = replace(first, quality=(*first.quality, *quality))
        parts = (remarked, *more)
        return replace(self, runs=parts) if self.runs else replace(self, points=parts)

    @property
    def record(self) -> Run | Points:
        """What the test holds, as one."""
        return joined_points(self.points) if self.points else self.run

    @property
    def run(self) -> Run:
        """All runs as one, its parts kept. Raises UnreadableLog where the test holds none."""
        if not self.runs:
            form = self.points[0].form if self.points else "nothing"
            raise UnreadableLog(
                self.files[0].file, f"a {form} has no run in it", "a time series or loops", "read it with read_test"
            )
        return joined(self.runs)


def read_test(sources: Sequence[Source | Given], bench: Bench = None, *, names: Sequence[str] | None = None) -> Test:
    """The records of one test of one unit, in the order given; `bench` is a bench.toml or what was read from one.

    Raises UnreadableLog naming file, line or column, and BadSettings for an unusable bench.toml.
    """
    found = open_test(sources, bench, names)
    runs = tuple(r.run for one in found for r in one if isinstance(r, Reading))
    points = tuple(p for one in found for p in one if isinstance(p, Points))
    if runs and points:
        raise UnreadableLog(
            points[0].file,
            f"this is a {points[0].form}, and {runs[0].file} is a {runs[0].form}",
            "records of one form for one test",
            "analyse them apart",
        )
    return Test(runs, points, files_read((*runs, *points)))


def open_test(
    sources: Sequence[Source | Given], bench: Bench = None, names: Sequence[str] | None = None
) -> list[Found]:
    """What each record holds and how it was understood, all runs with the same signs."""
    spec = declared(bench, BenchSpec) or BenchSpec()
    refuse_lone(sources, "read_test")
    if not sources:
        raise BadSettings("read_test", "no record is named", "one or more", "name the files of one test")
    records = all_given(sources, names)
    found, seen = [], dict[str, str]()
    for record in records:
        sha256, one = _read(record, spec)
        if sha256 in seen:
            what = f"this is the record {seen[sha256]} again: the same bytes twice are no second measurement"
            raise BadSettings(record.where, what, "each record once", "leave one out")
        seen[sha256] = record.file
        found.append(one)
    return _with_same_signs(records, found, spec)


def files_read(parts: Sequence[Run | Points]) -> tuple[FileRead, ...]:
    """A line for each record, in order; runs of the same one together."""
    lines: dict[tuple[str, str], FileRead] = {}
    for part in parts:
        key = (part.file, part.sha256)
        before = lines.get(key)
        read, used = (before.rows_read, before.rows_used) if before else (0, 0)
        lines[key] = FileRead(*key, part.form, read + part.rows_read, used + part.rows_used)
    return tuple(lines.values())


def _read(record: Given, spec: BenchSpec) -> tuple[str, Found]:
    """Its sha256 and what it holds."""
    try:
        opened = open_record(record, spec)
        return opened.sha256, _read_record(opened)
    except UnreadableLog as error:
        if record.columns is None or isinstance(error, DataError):
            raise
        raise said_of_data(error, record.where) from None


def _read_record(record: Record) -> Found:
    found = form_of(record).read(record)
    if record.arm_m is None:
        return found
    how = "force is torque over the arm, travel and speed angle and its rate times the arm, along the arc"
    step = Step("torque read at the arm's end", how, (("arm_m", record.arm_m),))
    points = [replace(p, arm_m=record.arm_m, history=(*p.history, step)) for p in found if isinstance(p, Points)]
    runs = [replace(r, run=r.run.then(step, arm_m=record.arm_m)) for r in found if isinstance(r, Reading)]
    return tuple(points) or tuple(runs)


def _with_same_signs(records: Sequence[Given], found: list[Found], spec: BenchSpec) -> list[Found]:
    """One bench has one way of counting: where records alone would say different ones, the clearest says it for all.

    The others are read again with its signs; whether the direction is known stays as it was. Source: own.
    """
    readings = [r for one in found for r in one if isinstance(r, Reading)]
    ways = {(r.orientation.motion, r.orientation.force) for r in readings}
    if len(ways) < 2:
        return found
    known = [r for r in readings if r.orientation.known] or readings
    clearest = max(known, key=lambda r: abs(work_share(r.run.displacement_m, r.run.force_n)))
    way = clearest.orientation
    signs = Signs(
        force_positive="tension" if way.force > 0 else "compression",
        displacement_positive="extension" if way.motion > 0 else "compression",
    )
    again = [_read(record, spec.model_copy(update={"signs": signs}))[1] for record in records]
    return [tuple(_doubted(r, way.known) for r in one if isinstance(r, Reading)) for one in again]


def _doubted(reading: Reading, known: bool) -> Reading:
    return replace(reading, run=replace(reading.run, direction_known=known and reading.run.direction_known))


def read_run(source: Source, bench: Bench = None, *, name: str | None = None) -> Run:
    """A bench log in SI and the package's signs; `bench` is a bench.toml or what was read from one.

    Raises UnreadableLog naming file, line or column, and BadSettings for an unusable bench.toml.
    """
    return read_test([source], bench, names=None if name is None else [name]).run
