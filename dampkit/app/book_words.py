"""How entries of the job book read on a terminal."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING, Annotated, Any

import typer

from dampkit.errors import visible
from dampkit.store.question import Question

if TYPE_CHECKING:
    from dampkit.store.again import Repeated
    from dampkit.store.book import Book
    from dampkit.store.record import Entry

Number = Annotated[int, typer.Argument(metavar="ENTRY", help="Number of the entry.", show_default=False)]
LIST_LINE = "{:>7}  {:<10}  {:<16}  {:<8}  {:<28}  {:<14}  {}"


def list_line(entry: Entry) -> str:
    corrected = f" (corrected by entry {entry.corrected_by})" if entry.corrected_by else ""
    if entry.archive is not None:
        corrected += f" (imported; here its log gives {entry.action_again})" if entry.differs else " (imported)"
    text = LIST_LINE.format(
        entry.id,
        entry.tested_on,
        visible(entry.serial or "-"),
        entry.action,
        entry.faults or "-",
        visible(entry.job or "-"),
        visible(entry.file) + corrected,
    )
    return text.rstrip()


def nothing_found(book: Book, question: Question) -> str:
    """Why a list is empty: what comes near what was asked for."""
    from dampkit.store.look_up import near

    words = question.words or question.serial or question.job or question.customer or question.unit_type
    if words is None:
        return "no entry fits"
    close = near(book, words)
    return f"nothing matches {words!r}" + (f"; near it: {', '.join(map(repr, close))}" if close else "")


def both(entry: Entry, again: Repeated) -> str:
    """What is stored and what comes out now."""
    stored, now_is = f"{entry.action} {entry.faults}".strip(), f"{again.action} {again.faults}".strip()
    return f"stored {stored}; with dampkit {again.version} {now_is}" + (f" ({again.why})" if again.why else "")


def about(book: Book, entry: Entry, result: dict[str, Any]) -> Iterable[str]:
    from dampkit.report.about import STALE
    from dampkit.store.facts import NAMES
    from dampkit.store.second_check import check_of_entry

    yield f"entry {entry.id}: unit {entry.serial or 'without a serial'}, tested on {entry.tested_on}: {entry.action}"
    yield f"  job {entry.job or '-'}; added {entry.added_at} by {entry.who}; dampkit {entry.version}"
    yield f"  log {entry.file}, sha256 {entry.log_sha256}"
    for name, value in book.standing(entry.id).items():
        if name not in ("serial", "job", "tested_on"):
            yield f"  {NAMES[name]}: {value}"
    for fact in book.facts(entry.id):
        if fact.why or fact.added_at != entry.added_at:
            yield f"  amended {fact.added_at[:10]} by {fact.who}: {NAMES[fact.name]} {fact.value or '-'} {fact.why}".rstrip()
    check = check_of_entry(book, entry.id)
    if check is not None:
        stale = "" if check.stands else f" ({STALE})"
        yield f"  checked {check.on} by {check.by}{stale} {check.note}".rstrip()
    if entry.archive is not None:
        yield f"  imported from {entry.archive}; analysed again here, its log gives {entry.action_again}"
    if entry.corrects is not None:
        yield f"  corrects entry {entry.corrects}"
    if entry.corrected_by is not None:
        yield f"  corrected by entry {entry.corrected_by}: use that one"
    yield from (f"  because {reason}" for reason in result["verdict"]["reasons"])
    yield from (f"  {fault['level']}: {fault['sentence']}" for fault in result["faults"])
    yield f"  next: {result['verdict']['next_step']}"
    yield from (f"  note {note.added_at[:10]} by {note.who}: {note.text}" for note in book.notes(entry.id))
    for photo in book.photos(entry.id):
        yield f"  photo {photo.name}, {'in the book' if photo.path is None else photo.path}, sha256 {photo.sha256}"
