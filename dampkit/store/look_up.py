"""Finding entries again: by words, unit, job, verdict, fault or date, and a unit's years in order."""

from __future__ import annotations

from collections.abc import Sequence

from dampkit.errors import BadSettings
from dampkit.frozen import frozen
from dampkit.quantities import Estimate
from dampkit.store.book import ENTRIES, Book
from dampkit.store.facts import CORRECTED
from dampkit.store.place import plain_errors
from dampkit.store.question import CONDITIONS, Question
from dampkit.store.record import Entry

NEAR_PERCENT = 70.0  # of letters in common and in order, for a name to be offered; own choice
NARROW = {"action", "fault", "since", "until"}  # answered from an index that is read through


@frozen
class Past:
    """One test of a unit and what it established; numbers that it did not establish are not in `measures`."""

    entry: Entry
    measures: dict[str, Estimate]


def find(book: Book, question: Question) -> tuple[Entry, ...]:
    """The entries that fit, latest first, at most `limit` of them."""
    values = {name: value for name in CONDITIONS if (value := getattr(question, name)) is not None}
    conditions = [CONDITIONS[name] for name in values] + (
        [] if question.corrected else [f"entry_id NOT IN {CORRECTED}"]
    )
    where = f"WHERE {' AND '.join(conditions)}" if conditions else ""
    if question.words is not None:
        values["words"] = f"%{_literal(question.words)}%"
    if question.fault is not None:
        values["fault"] = f"% {question.fault} %"
    # the plus keeps the database from reading the whole rows in order where a narrow index holds all that is asked
    order = "+entry_id" if NARROW & values.keys() else "entry_id"
    numbers = f"SELECT entry_id FROM stands {where} ORDER BY {order} DESC LIMIT :limit"
    with plain_errors(book.place):
        rows = book.connection.execute(
            f"{ENTRIES} WHERE entry.id IN ({numbers}) ORDER BY entry.id DESC", {**values, "limit": question.limit}
        ).fetchall()
    return tuple(Entry(*row) for row in rows)


def history(book: Book, serial: str) -> tuple[Past, ...]:
    """Every test of a unit that was not corrected later, in the order of the days.

    Raises BadSettings where no unit has this serial, and names serials that come near.
    """
    query = f"{ENTRIES} WHERE serial = ? AND entry.id NOT IN {CORRECTED} ORDER BY stands.tested_on, entry.id"
    with plain_errors(book.place):
        entries = [Entry(*row) for row in book.connection.execute(query, (serial,))]
        rows = book.connection.execute(
            "SELECT entry_id, name, value, low, high FROM measure WHERE entry_id IN "
            "(SELECT entry_id FROM stands WHERE unit_id = (SELECT id FROM unit WHERE serial = ?))",
            (serial,),
        ).fetchall()
    if not entries:
        raise _unknown_serial(book, serial)
    measures: dict[int, dict[str, Estimate]] = {entry.id: {} for entry in entries}
    for number, name, value, low, high in rows:
        measures.setdefault(number, {})[name] = Estimate(value, low, high)
    return tuple(Past(entry, measures[entry.id]) for entry in entries)


def of_another_unit(book: Book, log_sha256: str, serial: str | None) -> Entry | None:
    """The first entry of this very record under another serial: the bytes of one log cannot come from two units."""
    same = find(book, Question(log_sha256=log_sha256, corrected=True)) if serial else ()
    return next((entry for entry in reversed(same) if entry.serial and entry.serial != serial), None)


def count(book: Book) -> int:
    """Entries in the book, corrected ones included."""
    with plain_errors(book.place):
        return int(book.connection.execute("SELECT count(*) FROM entry").fetchone()[0])


def _literal(text: str) -> str:
    return text.replace("\\", "\\\\").replace("%", "\\%").replace("_", "\\_")


def near(book: Book, words: str, most: int = 5) -> tuple[str, ...]:
    """Serials, jobs, customers and types in the book that hold some words, or come near them, nearest first."""
    asked = (
        "SELECT serial FROM unit",
        "SELECT name FROM job",
        "SELECT DISTINCT customer FROM stands WHERE customer IS NOT NULL",
        "SELECT DISTINCT unit_type FROM stands WHERE unit_type IS NOT NULL",
    )
    with plain_errors(book.place):
        names = list(dict.fromkeys(row[0] for one in asked for row in book.connection.execute(one)))
    return nearest(words, names, most)


def nearest(words: str, names: Sequence[str], most: int = 5) -> tuple[str, ...]:
    """Those of the names that hold some words, or come near them, nearest first."""
    from rapidfuzz import fuzz, process, utils

    found = process.extract(
        words, names, scorer=fuzz.ratio, processor=utils.default_process, limit=most, score_cutoff=NEAR_PERCENT
    )
    holding = [name for name in names if words.casefold() in name.casefold()]
    return tuple(dict.fromkeys([*holding, *(name for name, _, _ in found)]))[:most]


def perhaps(close: Sequence[str], otherwise: str) -> str:
    """What to do about a name that is not there: what comes near it, else something else."""
    return f"perhaps {', '.join(map(repr, close))}" if close else otherwise


def _unknown_serial(book: Book, serial: str) -> BadSettings:
    do = perhaps(near(book, serial), "look for it with `dampkit book find`")
    return BadSettings(str(book.place), f"no test of a unit with the serial {serial!r}", "a serial in the book", do)
