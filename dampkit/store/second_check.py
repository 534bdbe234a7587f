"""The check of an entry by a second person, and the entry's result with all that stands of it now."""

from __future__ import annotations

import json
from dataclasses import dataclass
from datetime import date
from typing import Any

from dampkit.errors import BadSettings
from dampkit.outcome.about import AboutRecord, with_about
from dampkit.outcome.result import Result
from dampkit.store.book import Book
from dampkit.store.content import plain_json
from dampkit.store.papers import EntryPaper, Paper, add_paper, papers_of

SECOND_CHECK: EntryPaper = "second-check"


@dataclass(frozen=True)
class SecondCheck:
    """`stands` is False where something was put right, or the entry corrected, after it was signed."""

    by: str
    on: str
    note: str
    stands: bool


def sign(book: Book, number: int, by: str, note: str = "") -> SecondCheck:
    """Keep that a second person has checked an entry as it stands.

    Raises BadSettings where there is no such entry, a later one corrects it, or the person is the one who tested it.
    """
    entry, name = book.entry(number), " ".join(by.split())
    if not name:
        raise BadSettings("--by", "the name is empty", "the name of the second person", "give it")
    if entry.corrected_by is not None:
        found, do = f"entry {number} is corrected by entry {entry.corrected_by}", f"sign entry {entry.corrected_by}"
        raise BadSettings(str(book.place), found, "an entry that stands", do)
    tested = book.standing(number).get("technician") or entry.who
    if _same(tested, name):
        found = f"{name!r} made the test of entry {number}"
        raise BadSettings("--by", found, "a second person", "let somebody else look at it and sign")
    text = plain_json({"by": name, "note": note, "facts": len(book.facts(number))}).decode()
    today = date.today().isoformat()
    add_paper(book, number, Paper(SECOND_CHECK, text, today, name))
    return SecondCheck(name, today, note, stands=True)


def check_of_entry(book: Book, number: int) -> SecondCheck | None:
    """The latest check of an entry; None where nobody signed it. Raises BadSettings where there is no such entry."""
    entry = book.entry(number)
    signed = papers_of(book, number, SECOND_CHECK)
    if not signed:
        return None
    said: dict[str, Any] = json.loads(signed[-1].text)
    stands = entry.corrected_by is None and said["facts"] == len(book.facts(number))
    return SecondCheck(said["by"], signed[-1].done_on, said["note"], stands)


def as_it_stands(book: Book, number: int) -> Result:
    """The stored result with what stands now of its serial, job, customer and so on, and the second person's check.

    Raises BadSettings where there is no such entry.
    """
    said, check = book.standing(number), check_of_entry(book, number)
    about = AboutRecord(
        job=said.get("job"),
        tested_on=said.get("tested_on"),
        tested_at=said.get("tested_at"),
        by=said.get("technician") or book.entry(number).who,
        customer=said.get("customer"),
        vehicle=said.get("vehicle"),
        unit_type=said.get("unit_type"),
        bench=said.get("bench"),
        checked_by=None if check is None else check.by,
        checked_on=None if check is None else check.on,
        check_note=(check.note or None) if check else None,
        check_stands=None if check is None else check.stands,
    )
    return with_about(Result.read(book.result(number)), said.get("serial"), about)


def _same(one: str, other: str) -> bool:
    return " ".join(one.split()).casefold() == " ".join(other.split()).casefold()
