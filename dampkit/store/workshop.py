"""The workshop's own card: its name, address and mark, version by version; one a book."""

from __future__ import annotations

from dampkit.errors import BadSettings
from dampkit.outcome.workshop import Letterhead, letterhead
from dampkit.store.book import Book
from dampkit.store.content import pack
from dampkit.store.library import Card, CardKind, NewCard, add_card, cards, drawings_of

NAME = "workshop"
KIND: CardKind = "workshop"


def add_workshop(book: Book, text: str, mark: tuple[str, bytes] | None, said: tuple[str, str]) -> tuple[Card, bool]:
    """Add a version with its mark, a name and its bytes; `said` is why and who. As `add_card`.

    Raises BadSettings where the text or the mark is unusable; nothing is added then.
    """
    letterhead(text, None if mark is None else mark[1], NAME)
    drawings = () if mark is None else ((mark[0], pack(mark[1])),)
    return add_card(book, NewCard(KIND, NAME, text, said[1], said[0], drawings))


def workshop_of(book: Book) -> Letterhead | None:
    """By the latest version of its card; None where the book has none."""
    found = cards(book, KIND)
    if not found:
        return None
    marks = drawings_of(book, found[0])
    return letterhead(found[0].text, book.content(marks[-1][1]) if marks else None, found[0].title)


def check_there_is_one(book: Book) -> None:
    """Raises BadSettings where the book has no card of the workshop."""
    if not cards(book, KIND):
        do = "write one with `dampkit new workshop`, add it with `dampkit book workshop add`"
        raise BadSettings(str(book.place), "the workshop has no card yet", "its name and address", do)
