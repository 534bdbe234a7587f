"""Forms that people fill in about an entry (strip-down, second check) or a bench (calibration, daily check)."""

from __future__ import annotations

import sqlite3
from typing import Literal

from dampkit.frozen import frozen
from dampkit.store.book import Book
from dampkit.store.content import insert
from dampkit.store.place import plain_errors
from dampkit.store.record import AS_WRITTEN, Day, Moment, now
from dampkit.store.schema import writing

EntryPaper = Literal["strip-down", "second-check"]
BenchPaper = Literal["calibration", "daily-check"]
EVER = "9999-12-31"


@frozen
class Paper:
    """`text` is as it was written; `added_at` this moment where it is empty; `archive` is what it was imported from."""

    __pydantic_config__ = AS_WRITTEN

    kind: EntryPaper | BenchPaper
    text: str
    done_on: Day
    who: str
    added_at: Moment = ""
    archive: str | None = None


def add_paper(book: Book, about: int | str, paper: Paper) -> None:
    """Keep a form about an entry, by its number, or a bench, by its name."""
    with plain_errors(book.place), writing(book.connection):
        paper_within(book.connection, about, paper)


def paper_within(connection: sqlite3.Connection, about: int | str, paper: Paper) -> None:
    """Add inside a transaction that is already open."""
    row = {_whose(about): about, **vars(paper), "added_at": paper.added_at or now()}
    insert(connection, "paper", row)


def papers_of(
    book: Book, about: int | str, kind: EntryPaper | BenchPaper | None = None, until: str = EVER, *, last: bool = False
) -> tuple[Paper, ...]:
    """Of an entry in the order in which they were added, of a bench in that of their days; the last one is what stands."""
    order = ("id",) if isinstance(about, int) else ("done_on", "id")
    of_kind = "" if kind is None else "AND kind = :kind"
    down = " DESC" if last else ""
    asked = f"""SELECT kind, text, done_on, who, added_at, archive FROM paper
        WHERE {_whose(about)} = :about {of_kind} AND done_on <= :until
        ORDER BY {", ".join(column + down for column in order)} LIMIT {1 if last else -1}"""
    with plain_errors(book.place):
        rows = book.connection.execute(asked, {"about": about, "kind": kind, "until": until})
        return tuple(Paper(*row) for row in rows)


def _whose(about: int | str) -> str:
    return "entry_id" if isinstance(about, int) else "bench"
