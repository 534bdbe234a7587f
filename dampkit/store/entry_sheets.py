"""The printed sheets of an entry: its result as it stands, the workshop's head, and the test and work before it."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

from dampkit.errors import BadSettings
from dampkit.report.document import Look
from dampkit.report.earlier import Earlier
from dampkit.report.sheets import write_sheets
from dampkit.store.book import Book
from dampkit.store.build_record import Work
from dampkit.store.library import workshop_of
from dampkit.store.look_up import find
from dampkit.store.question import EVERY, Question
from dampkit.store.second_check import as_it_stands
from dampkit.store.works import before_after


def write_entry_sheets(book: Book, number: int, place: Path, imperial: bool = False) -> Path:
    """Raises BadSettings where the book has no such entry, its own records speak against it, or the place cannot be written
    to."""
    entry = book.entry(number)
    if entry.differs:
        found = f"entry {number} came in as {entry.action}, and its records give here: {entry.action_again}"
        do = "test the unit here; the page, by `dampkit book show --report`, says both"
        raise BadSettings(str(book.place), found, "a test whose records give its verdict", do)
    look = Look(imperial, letterhead=workshop_of(book))
    return write_sheets(as_it_stands(book, number), place, look, earlier_of(book, number))


def earlier_of(book: Book, number: int) -> Earlier | None:
    """The test of the same unit whose work this entry followed; None where no work was written down before it."""
    entry = book.entry(number)
    if entry.serial is None:
        return None
    asked = Question(serial=entry.serial, job=entry.job, until=entry.tested_on, limit=EVERY)
    past = sorted(find(book, asked), key=lambda each: (each.tested_on, each.id), reverse=True)
    for before in past:
        if before.id == number or before.differs:
            continue
        shown = before_after(book, before.id)
        if shown.worked is not None and shown.after is not None and shown.after.id == number:
            worked = shown.worked
            return Earlier(as_it_stands(book, before.id), before.tested_on, tuple(_lines(worked.work)), worked.done_on)
    return None


def _lines(work: Work) -> Iterator[str]:
    """What a customer pays for: parts, oil and gas."""
    if work.parts:
        yield f"new: {', '.join(work.parts)}"
    size = next((f"{n:g} {unit}" for n, unit in ((work.oil.in_ml, "ml"), (work.oil.in_g, "g")) if n is not None), "")
    if size or work.oil.grade:
        yield f"oil: {' '.join(part for part in (size, work.oil.grade) if part)}"
    if work.gas_bar is not None:
        yield f"gas: {work.gas_bar:g} bar"
