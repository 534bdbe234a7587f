"""The job book as every command and page comes to it: where it is, who writes in it, and a word on a clock that is wrong."""

from __future__ import annotations

import getpass
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

from dampkit.app.say import say

if TYPE_CHECKING:
    from dampkit.store.book import Book


def place_of(named: Path | None) -> Path:
    from dampkit.store.place import default_place

    return named or default_place()


@contextmanager
def the_book(named: Path | None, create: bool = False) -> Iterator[Book]:
    """The book as every command opens it; says where this machine's clock cannot be right. Raises as `book_at`."""
    from dampkit.store.book import book_at
    from dampkit.store.check import clock_behind
    from dampkit.store.record import now

    with book_at(place_of(named), create) as book:
        if latest := clock_behind(book):
            found = f"this machine's clock says {now()[:16]}, and the book was written at {latest[:16]} (UTC)"
            say(f"{found}: set the clock; what is added keeps its order, but its days would be wrong", err=True)
        yield book


def person(named: str | None) -> str:
    """The name given, else the name of the account; `unknown` where the system does not say."""
    try:
        return named or getpass.getuser()
    except (OSError, KeyError, ImportError):
        return "unknown"
