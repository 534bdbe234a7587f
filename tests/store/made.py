"""Small made-up entries for the tests of the job book."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from dampkit.outcome.result import Result
from dampkit.store.book import Book, book_at
from dampkit.store.record import Circumstances, NewEntry, new_entry
from dampkit.store.settings import Settings
from tests.report.made_up import sound

LOG = b"t;x;F\r\n0,0;0,0;\xfc\r\n\x00\xff"


def made(
    log: bytes = LOG,
    serial: str | None = "A-1042",
    *,
    job: str | None = None,
    day: str = "2024-05-31",
    corrects: int | None = None,
    result: Result | None = None,
    settings: Settings | None = None,
) -> NewEntry:
    said = Circumstances("made-up fitter", serial, job, day, corrects)
    return new_entry(result or sound(), log, settings or Settings(damper="# made up\n"), said)


@contextmanager
def new_book(folder: Path) -> Iterator[Book]:
    with book_at(folder / "book.sqlite", create=True) as book:
        yield book
