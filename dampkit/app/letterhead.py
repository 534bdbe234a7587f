"""The workshop's name, address and mark at the head of a page, and where a page takes them from."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from dampkit.errors import UnusableBook

if TYPE_CHECKING:
    from dampkit.outcome.workshop import Letterhead

Workshop = Annotated[
    Path | None,
    typer.Option(
        "--workshop", metavar="WORKSHOP.toml", help="Name, address and mark for the page; else the job book's."
    ),
]


def letterhead_for(file: Path | None, book: Path | None) -> Letterhead | None:
    """Of the file; else of the book that is named, or of the user's own where there is one; None where neither says.

    Raises BadSettings and UnusableBook for a file or a book that was named; a book that was not is passed over, and said.
    """
    from dampkit.app.say import say
    from dampkit.outcome.workshop import letterhead_from
    from dampkit.store.book import book_at
    from dampkit.store.library import workshop_of
    from dampkit.store.place import default_place

    if file is not None:
        return letterhead_from(file)
    place = book or default_place()
    if not place.is_file():
        return None
    try:
        with book_at(place) as opened:
            return workshop_of(opened)
    except UnusableBook as error:
        if book is not None:
            raise
        say(f"the page stays without the workshop's name: {error}", err=True)
        return None
