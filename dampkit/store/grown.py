"""A reference that grows from the units of a type that passed: each unit by its latest test, records as they came."""

from __future__ import annotations

from dampkit.bench.test import read_test
from dampkit.errors import BadSettings
from dampkit.expected.known_good import KnownGood
from dampkit.frozen import frozen
from dampkit.outcome.side_by_side import Fitted, fitted, reference
from dampkit.store.book import Book
from dampkit.store.library import Card, NewCard, card_of, card_within
from dampkit.store.look_up import find
from dampkit.store.place import plain_errors
from dampkit.store.question import EVERY, Question
from dampkit.store.record import Entry
from dampkit.store.schema import writing


@frozen
class Grown:
    """`entries` are those that it rests on, oldest first."""

    found: KnownGood
    entries: tuple[Entry, ...]

    @property
    def why(self) -> str:
        return "reference from entries " + ", ".join(str(entry.id) for entry in self.entries)


def passed_of(book: Book, unit_type: str) -> tuple[Entry, ...]:
    """The latest entry of each unit of the type, where that passed; an imported one only where its log agrees here."""
    latest: dict[str, Entry] = {}
    for entry in sorted(
        find(book, Question(unit_type=unit_type, limit=EVERY)), key=lambda entry: (entry.tested_on, entry.id)
    ):
        if entry.serial is not None:
            latest[entry.serial] = entry
    return tuple(entry for entry in latest.values() if entry.action == "fit" and not entry.differs)


def grown(book: Book, unit_type: str, share: float, confidence: float) -> Grown:
    """Raises BadSettings where fewer than two units passed, and what reading their records raises."""
    entries = passed_of(book, unit_type)
    if len(entries) < 2:
        found = f"{len(entries)} unit{'' if len(entries) == 1 else 's'} of the type {unit_type!r} passed"
        do = "test more, each with --type and its --serial; units without a serial do not count"
        raise BadSettings(str(book.place), found, "at least two units that passed", do)
    fits = [_fit(book, entry) for entry in entries]
    return Grown(reference(fits, share, confidence), entries)


def accepted(book: Book, unit_type: str, made: Grown, who: str) -> tuple[Card, bool]:
    """The type's card with this reference, as a new version that says who accepted it and what it rests on."""
    with plain_errors(book.place), writing(book.connection):  # nobody else's new version may come in between
        card = card_of(book, "unit-type", unit_type)
        return card_within(book, NewCard("unit-type", unit_type, made.found.to_toml(card.text), who, made.why))


def _fit(book: Book, entry: Entry) -> Fitted:
    """The test again, from its records."""
    job, records = book.settings(entry.id).load(), book.records(entry.id)
    test = read_test([data for _, data in records], job.bench, names=[name for name, _ in records])
    (fit,) = fitted([test], job, at_least=1, names=[f"entry {entry.id}"])
    return fit
