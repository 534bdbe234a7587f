"""The workshop's own knowledge: unit types, vehicles, benches, stock and the workshop itself, version by version.

A card is a TOML file as a person wrote it, comments and all, under a name. A new version never overwrites an old one.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterable
from typing import Literal

from dampkit.bench.toml_file import from_text
from dampkit.errors import BadSettings
from dampkit.frozen import frozen
from dampkit.job import model_of
from dampkit.outcome.workshop import Letterhead, letterhead
from dampkit.store.book import Book
from dampkit.store.content import Packed, insert, keep, pack
from dampkit.store.look_up import nearest, perhaps
from dampkit.store.place import plain_errors
from dampkit.store.record import now
from dampkit.store.schema import writing

CardKind = Literal["unit-type", "vehicle", "bench", "stock", "workshop"]
WORKSHOP: CardKind = "workshop"  # its one card has that name
# kind of card -> kind of TOML file
DECLARES: dict[CardKind, str] = {
    "unit-type": "damper", "vehicle": "vehicle", "bench": "bench", "stock": "stock", "workshop": "workshop",
}  # fmt: skip
# fact of an entry -> the kind of card that it names
NAMED: dict[str, CardKind] = {"unit_type": "unit-type", "vehicle": "vehicle", "bench": "bench"}
COLUMNS = "kind, name, version, text, why, who, added_at, archive"
LATEST = f"""SELECT {COLUMNS} FROM card AS one WHERE kind = ?
    AND version = (SELECT max(version) FROM card WHERE kind = one.kind AND name = one.name)"""


@frozen
class Card:
    """`why` says what changed since the version before; `archive` is what it was imported from."""

    kind: CardKind
    name: str
    version: int
    text: str
    why: str
    who: str
    added_at: str
    archive: str | None = None

    @property
    def title(self) -> str:
        """As it is named in an entry: the version with it, so that a later one changes nothing."""
        return f"{self.name}, version {self.version}"


@frozen
class NewCard:
    kind: CardKind
    name: str
    text: str
    who: str
    why: str = ""
    drawings: tuple[tuple[str, Packed], ...] = ()


def add_card(book: Book, new: NewCard) -> tuple[Card, bool]:
    """Add a version, and tell whether it is fresh: the latest text with no new drawing is not added twice.

    Raises BadSettings where the text is no usable file of its kind, or the name is empty.
    """
    with plain_errors(book.place), writing(book.connection):
        return card_within(book, new)


def card_within(book: Book, new: NewCard) -> tuple[Card, bool]:
    """Add inside a transaction that is already open. Raises as `add_card`."""
    if not new.name.strip():
        raise BadSettings(new.kind, "the name is empty", "the workshop's own part number or name", "give one")
    checked(new.kind, new.text, f"{new.kind} {new.name}")
    rows = versions_of(book, new.kind, new.name)
    if rows and rows[-1].text == new.text and _same_drawings(book, rows[-1], new):
        return rows[-1], False
    card = Card(new.kind, new.name, len(rows) + 1, new.text, new.why, new.who, now())
    insert_card(book.connection, card, new.drawings)
    return card, True


def insert_card(connection: sqlite3.Connection, card: Card, drawings: Iterable[tuple[str, Packed]]) -> None:
    """A version as it is, inside a transaction that is already open."""
    number = insert(connection, "card", vars(card))
    for name, content in drawings:
        keep(connection, content)
        insert(connection, "drawing", {"card_id": number, "name": name, "sha256": content.sha256})


def card_of(book: Book, kind: CardKind, name: str, version: int | None = None) -> Card:
    """The latest version, or the one asked for. Raises BadSettings where there is none, and names what comes near."""
    versions = history_of(book, kind, name)
    if version is None:
        return versions[-1]
    if not 1 <= version <= len(versions):
        found = f"{kind} {name!r} has no version {version}"
        raise BadSettings(str(book.place), found, f"1 to {len(versions)}", "ask for one of them")
    return versions[version - 1]


def history_of(book: Book, kind: CardKind, name: str) -> tuple[Card, ...]:
    """Every version, oldest first. Raises BadSettings where there is none."""
    versions = versions_of(book, kind, name)
    if not versions:
        otherwise = f"see `dampkit book {kind} list`, or add it with `dampkit book {kind} add`"
        do = perhaps(nearest(name, [card.name for card in cards(book, kind)]), otherwise)
        raise BadSettings(str(book.place), f"there is no {kind} {name!r} in the library", "a name in it", do)
    return versions


def cards(book: Book, kind: CardKind) -> tuple[Card, ...]:
    """The latest version of every one, by name."""
    with plain_errors(book.place):
        return tuple(Card(*row) for row in book.connection.execute(f"{LATEST} ORDER BY name", (kind,)))


def drawings_of(book: Book, card: Card) -> tuple[tuple[str, str], ...]:
    """Name and hash of each drawing of a version; the bytes are `book.content`."""
    asked = """SELECT drawing.name, sha256 FROM drawing JOIN card ON card.id = card_id
        WHERE kind = ? AND card.name = ? AND version = ? ORDER BY drawing.id"""
    with plain_errors(book.place):
        return tuple(book.connection.execute(asked, (card.kind, card.name, card.version)))


def checked(kind: CardKind, text: str, where: str) -> None:
    """Raises BadSettings where the text is no usable file of its kind, or says what holds for one unit only."""
    found = from_text(text, where, model_of(DECLARES[kind]))
    if kind == "unit-type" and found.damper.serial is not None:
        what = f"serial {found.damper.serial!r}: one unit has it, not its type"
        raise BadSettings(
            where, what, "a file without a serial", "leave it out; give it with --serial when a unit is tested"
        )


def _same_drawings(book: Book, card: Card, new: NewCard) -> bool:
    return {(name, content.sha256) for name, content in new.drawings} <= set(drawings_of(book, card))


def versions_of(book: Book, kind: CardKind, name: str) -> tuple[Card, ...]:
    """Every version, oldest first; empty where there is none."""
    asked = f"SELECT {COLUMNS} FROM card WHERE kind = ? AND name = ? ORDER BY version"
    with plain_errors(book.place):
        return tuple(Card(*row) for row in book.connection.execute(asked, (kind, name)))


def add_workshop(book: Book, text: str, mark: tuple[str, bytes] | None, said: tuple[str, str]) -> tuple[Card, bool]:
    """Add a version with its mark, a name and its bytes; `said` is why and who. As `add_card`.

    Raises BadSettings where the text or the mark is unusable; nothing is added then.
    """
    letterhead(text, None if mark is None else mark[1], WORKSHOP)
    drawings = () if mark is None else ((mark[0], pack(mark[1])),)
    return add_card(book, NewCard(WORKSHOP, WORKSHOP, text, said[1], said[0], drawings))


def workshop_of(book: Book) -> Letterhead | None:
    """By the latest version of its card; None where the book has none."""
    found = cards(book, WORKSHOP)
    if not found:
        return None
    marks = drawings_of(book, found[0])
    return letterhead(found[0].text, book.content(marks[-1][1]) if marks else None, found[0].title)


def check_there_is_one(book: Book) -> None:
    """Raises BadSettings where the book has no card of the workshop."""
    if not cards(book, WORKSHOP):
        do = "write one with `dampkit new workshop`, add it with `dampkit book workshop add`"
        raise BadSettings(str(book.place), "the workshop has no card yet", "its name and address", do)
