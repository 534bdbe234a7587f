"""`dampkit book workshop`: the workshop's own card, which stands at the head of every page; and where a page takes it from."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from dampkit.app.options import Book, Who

if TYPE_CHECKING:
    from dampkit.outcome.workshop import Letterhead

Workshop = Annotated[
    Path | None,
    typer.Option(
        "--workshop", metavar="WORKSHOP.toml", help="Name, address and mark for the page; else the job book's."
    ),
]
app = typer.Typer(
    rich_markup_mode=None,
    help="The workshop itself: its name, address and mark, at the head of every page and sheet.",
    epilog="Example: dampkit book workshop add WORKSHOP.toml",
    no_args_is_help=True,
)


@app.command("add", epilog="Example: dampkit book workshop add WORKSHOP.toml --why 'moved'")
def add(
    file: Annotated[
        Path,
        typer.Argument(metavar="WORKSHOP.toml", help="As `dampkit new workshop` writes it.", show_default=False),
    ],
    why: Annotated[str, typer.Option(metavar="TEXT", help="What changed since the version before.")] = "",
    who: Who = None,
    book: Book = None,
) -> None:
    """Add it with the mark beside it, or a new version of it; earlier versions stay."""
    from dampkit.app.at_book import person, the_book
    from dampkit.app.say import say
    from dampkit.bench.toml_file import from_text, toml_text
    from dampkit.outcome.workshop import WorkshopSpec, mark_beside
    from dampkit.store.workshop import add_workshop

    text = toml_text(file)
    name, data = from_text(text, str(file), WorkshopSpec).workshop.mark, mark_beside(file, text)
    mark = None if name is None or data is None else (name, data)
    with the_book(book, create=True) as opened:
        card, fresh = add_workshop(opened, text, mark, (why, person(who)))
    say(f"{card.title}: {'added' if fresh else 'is this very text and mark already'} ({opened.place})")


@app.command("show", epilog="Example: dampkit book workshop show > WORKSHOP.toml")
def show(
    version: Annotated[int | None, typer.Option(metavar="N", help="Else the latest.", min=1)] = None,
    drawings: Annotated[Path | None, typer.Option(metavar="FOLDER", help="Write its mark there.")] = None,
    book: Book = None,
) -> None:
    """Print the file as it was written, comments and all."""
    from dampkit.app import shelf_work as work
    from dampkit.store.workshop import KIND, NAME

    _look(book)
    work.show((KIND, NAME), version, drawings, book)


@app.command("history", epilog="Example: dampkit book workshop history")
def history(book: Book = None) -> None:
    """Every version: when, who, and what changed."""
    from dampkit.app import shelf_work as work
    from dampkit.store.workshop import KIND, NAME

    _look(book)
    work.history(KIND, NAME, book)


def _look(book: Path | None) -> None:
    from dampkit.app.at_book import the_book
    from dampkit.store.workshop import check_there_is_one

    with the_book(book) as opened:
        check_there_is_one(opened)


def letterhead_for(file: Path | None, book: Path | None) -> Letterhead | None:
    """Of the file; else of the book that is named, or of the user's own where there is one; None where neither says.

    Raises BadSettings and UnusableBook for a file or a book that was named; a book that was not is passed over, and said.
    """
    from dampkit.app.say import say
    from dampkit.errors import UnusableBook
    from dampkit.outcome.workshop import letterhead_from
    from dampkit.store.book import book_at
    from dampkit.store.place import default_place
    from dampkit.store.workshop import workshop_of

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
