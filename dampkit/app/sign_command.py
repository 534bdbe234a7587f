"""`dampkit book sign`: the second person's check of an entry."""

from __future__ import annotations

from typing import Annotated

import typer

from dampkit.app.options import Book
from dampkit.app.say import say


def sign_command(
    entry: Annotated[int, typer.Argument(metavar="ENTRY", help="Number of the entry.", show_default=False)],
    by: Annotated[str, typer.Option(metavar="NAME", help="The second person, not the one who tested it.")],
    note: Annotated[str, typer.Option(metavar="TEXT", help="What was looked at, or is to be minded.")] = "",
    book: Book = None,
) -> None:
    """Keep that a second person has checked a test. What is put right after that makes it signed before the change."""
    from dampkit.app.book_work import the_book
    from dampkit.store.second_check import sign

    with the_book(book) as opened:
        check = sign(opened, entry, by, note)
    say(f"entry {entry}: checked by {check.by} on {check.on}")
