"""The work on a unit, tied to the test that it followed; before and after; the build of a type that passed."""

from __future__ import annotations

from collections.abc import Iterator

from dampkit.bench.toml_file import from_text
from dampkit.frozen import frozen
from dampkit.outcome.about_record import AboutRecord
from dampkit.quantities import Estimate
from dampkit.store.book import NOTHING, Book, beside_within
from dampkit.store.build_record import Valve, Work, WorkSpec
from dampkit.store.look_up import find
from dampkit.store.papers import EntryPaper, Paper, paper_within, papers_of
from dampkit.store.place import plain_errors
from dampkit.store.question import EVERY, Question
from dampkit.store.record import Beside, Entry
from dampkit.store.schema import writing
from dampkit.store.second_check import about_of

STRIP_DOWN: EntryPaper = "strip-down"


@frozen
class Worked:
    """`sheet` is the paper that says it."""

    work: Work
    sheet: Paper

    @property
    def done_on(self) -> str:
        return self.sheet.done_on

    @property
    def who(self) -> str:
        return self.sheet.who


@frozen
class BeforeAfter:
    """A test, the work that followed, and the next test of the same unit; None where there is none yet."""

    before: Entry
    worked: Worked | None
    after: Entry | None
    before_measures: dict[str, Estimate]
    after_measures: dict[str, Estimate]
    before_said: AboutRecord
    after_said: AboutRecord


def add_work(book: Book, number: int, sheet: Paper, beside: Beside = NOTHING) -> Work:
    """Keep a sheet with an entry as it was written, photos and all, or nothing.

    Raises BadSettings where the sheet is unusable or there is no such entry.
    """
    book.entry(number)
    work = sheet_read(sheet, f"work on entry {number}")
    with plain_errors(book.place), writing(book.connection):
        paper_within(book.connection, number, sheet)
        beside_within(book.connection, number, beside)
    return work


def work_on(book: Book, number: int) -> Worked | None:
    """The latest sheet of an entry: a later one corrects it."""
    sheets = papers_of(book, number, STRIP_DOWN, last=True)
    return Worked(sheet_read(sheets[0], f"work on entry {number}"), sheets[0]) if sheets else None


def sheet_read(sheet: Paper, where: str = "work") -> Work:
    """Raises BadSettings where it is unusable."""
    return from_text(sheet.text, where, WorkSpec).work


def before_after(book: Book, number: int) -> BeforeAfter:
    """Raises BadSettings where the book has no such entry."""
    before = book.entry(number)
    after = _next(book, before)
    return BeforeAfter(
        before,
        work_on(book, number),
        after,
        book.measures(number),
        {} if after is None else book.measures(after.id),
        about_of(book, number),
        AboutRecord() if after is None else about_of(book, after.id),
    )


def passed_build(book: Book, unit_type: str) -> tuple[Entry, Worked] | None:
    """The latest build of the type whose next test passed: where the work on the next unit starts."""
    asked = """SELECT DISTINCT paper.entry_id FROM paper JOIN stands USING (entry_id)
        WHERE paper.kind = ? AND unit_type = ? ORDER BY tested_on DESC, paper.entry_id DESC"""
    with plain_errors(book.place):
        numbers = [row[0] for row in book.connection.execute(asked, (STRIP_DOWN, unit_type))]
    for number in numbers:
        after, worked = _next(book, book.entry(number)), work_on(book, number)
        if after is not None and after.action == "fit" and not after.differs and worked is not None:
            return after, worked
    return None


def build_lines(work: Work) -> Iterator[str]:
    """What was built, a line a direction; nothing where nothing was written down."""
    for way, found, built in (
        ("rebound", work.as_found.rebound, work.as_built.rebound),
        ("compression", work.as_found.compression, work.as_built.compression),
    ):
        if built != Valve():
            was = f" (found: {_valve(found)})" if found not in (Valve(), built) else ""
            yield f"{way}: {_valve(built)}{was}"


def _valve(valve: Valve) -> str:
    parts = []
    if valve.holes_mm:
        parts.append("holes " + ", ".join(f"{d:g}" for d in valve.holes_mm) + " mm")
    if valve.shims_mm:
        parts.append("shims " + ", ".join(f"{outer:g} x {thick:g}" for outer, thick in valve.shims_mm) + " mm")
    if valve.spring_rate_n_mm is not None:
        parts.append(f"spring {valve.spring_rate_n_mm:g} N/mm")
    if valve.preload_mm is not None:
        parts.append(f"preload {valve.preload_mm:g} mm")
    if valve.clicks is not None:
        parts.append(f"{valve.clicks} clicks from closed")
    return ", ".join(parts) or "not written down"


def _next(book: Book, entry: Entry) -> Entry | None:
    """The unit's next test; of the same job where the entry has one."""
    if entry.serial is None:
        return None
    asked = Question(serial=entry.serial, job=entry.job, since=entry.tested_on, limit=EVERY)
    later = [e for e in find(book, asked) if (e.tested_on, e.id) > (entry.tested_on, entry.id)]
    return min(later, key=lambda e: (e.tested_on, e.id), default=None)
