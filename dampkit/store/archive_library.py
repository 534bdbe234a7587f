"""The lines of an archive and their form; papers and cards in it, out of one book and into another as something foreign.

A foreign card never becomes a version of one of the workshop's own: it comes in under a name that says where it is from,
and what is written about a foreign bench goes with it.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import asdict, replace
from typing import Any, Literal

from pydantic import BaseModel, ConfigDict

from dampkit.store.benches import daily_check, sheet_of
from dampkit.store.book import Book
from dampkit.store.content import Packed
from dampkit.store.facts import Fact
from dampkit.store.library import NAMED, Card, CardKind, drawings_of, insert_card, versions_of
from dampkit.store.papers import BenchPaper, EntryPaper, Paper, paper_within, papers_of
from dampkit.store.record import Day, Hash, Moment, Note, Photo
from dampkit.store.second_check import signed
from dampkit.store.settings import Settings
from dampkit.store.works import sheet_read

READ: Mapping[EntryPaper | BenchPaper, Callable[[Paper], object]] = {
    "strip-down": sheet_read, "second-check": signed, "calibration": sheet_of, "daily-check": daily_check,
}  # fmt: skip


class Part(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True)


class Said(Part):
    who: str
    serial: str | None
    job: str | None
    tested_on: Day
    added_at: Moment


class DrawingLine(Part):
    name: str
    sha256: Hash


class CardLine(Part):
    """A version of a card that entries name; of a bench the last one has its calibrations and daily checks."""

    kind: Literal["unit-type", "vehicle", "bench"]
    name: str
    version: int
    text: str
    why: str
    who: str
    added_at: Moment
    archive: str | None = None
    drawings: list[DrawingLine]
    papers: list[Paper] = []


class Line(Part):
    uid: Hash
    corrects: Hash | None
    said: Said
    log: Hash
    settings: Settings
    notes: list[Note]
    photos: list[Photo]
    facts: list[Fact] = []
    papers: list[Paper] = []


def card_lines(book: Book, numbers: Iterable[int]) -> list[dict[str, Any]]:
    """Every version of every card that the entries name, with what is written about a bench."""
    lines = []
    for kind, name in sorted({named for number in numbers for named in _named(book, number)}):
        versions = versions_of(book, kind, name)
        of_bench = papers_of(book, name) if kind == "bench" else ()
        for card in versions:
            drawings = [{"name": each, "sha256": sha256} for each, sha256 in drawings_of(book, card)]
            papers = [asdict(paper) for paper in of_bench] if card is versions[-1] else []
            lines.append({**asdict(card), "drawings": drawings, "papers": papers})
    return lines


def _named(book: Book, number: int) -> Iterator[tuple[CardKind, str]]:
    """Cards that an entry names; of one that was imported those that came with it."""
    archive = book.entry(number).archive
    for fact, name in book.standing(number).items():
        if fact in NAMED:
            foreign = _foreign(name, archive)
            yield NAMED[fact], foreign if versions_of(book, NAMED[fact], foreign) else name


def _foreign(name: str, archive: str | None) -> str:
    return f"{name} (from {archive})"


def imported(paper: Paper, archive: str) -> Paper:
    """Marked. Raises what reading it raises, so that nothing comes in that no page could show."""
    READ[paper.kind](paper)
    return replace(paper, archive=archive)


def cards_within(book: Book, lines: Iterable[tuple[CardLine, Mapping[str, Packed]]], archive: str) -> None:
    """Add those that the library has not, inside a transaction that is already open; drawings by their hash."""
    for line, contents in lines:
        name = _foreign(line.name, archive)
        known = [*versions_of(book, line.kind, line.name), *versions_of(book, line.kind, name)]
        if any(card.text == line.text for card in known):
            continue
        said = line.model_dump(exclude={"drawings", "papers"})
        card = Card(
            **{**said, "name": name, "version": len(versions_of(book, line.kind, name)) + 1, "archive": archive}
        )
        insert_card(book.connection, card, [(each.name, contents[each.sha256]) for each in line.drawings])
        for paper in line.papers:
            paper_within(book.connection, name, imported(paper, archive))
