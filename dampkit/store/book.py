"""The job book: analyses are added, and nothing that was added is ever changed."""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import asdict
from pathlib import Path
from typing import Any

from dampkit.bench.gate import LOG, Wanted, file_bytes
from dampkit.errors import BadSettings, UnusableBook
from dampkit.quantities import Estimate
from dampkit.store.content import insert, keep, kept, sha256_of, unpack
from dampkit.store.facts import Fact, checked_facts, facts_of, facts_within, named
from dampkit.store.place import opened, plain_errors
from dampkit.store.record import Added, Again, Beside, Circumstances, Entry, NewEntry, Note, Photo, now
from dampkit.store.schema import keep_measures, writing
from dampkit.store.settings import Settings

COLUMNS = """entry.id, uid, serial, job.name, file, stands.tested_on, entry.action, entry.faults, entry.version, entry.who,
    entry.added_at, log_sha256, settings_sha256, corrects,
    (SELECT max(later.id) FROM entry AS later WHERE later.corrects = entry.id),
    customer, unit_type, archive, origin.action"""
ENTRIES = f"""SELECT {COLUMNS} FROM entry JOIN stands ON stands.entry_id = entry.id
    LEFT JOIN unit ON unit.id = stands.unit_id LEFT JOIN job ON job.id = stands.job_id
    LEFT JOIN origin ON origin.entry_id = entry.id"""

NOTHING = Beside()


class Book:
    """An open job book. Every method raises UnusableBook where the file cannot be read or written.

    Examples
    --------
    >>> with dampkit.open_book("another.sqlite", create=True) as book:
    ...     book.entry(1)
    Traceback (most recent call last):
    dampkit.errors.BadSettings: another.sqlite: there is no entry 1
    ...
    """

    def __init__(self, place: Path, connection: sqlite3.Connection) -> None:
        self.place, self.connection = place, connection

    def add(self, new: NewEntry, beside: Beside = NOTHING) -> Added:
        """Add an analysis with its notes and photos, all or nothing; when this returns, it is on the disk.

        The same analysis again is not added twice, its new notes and photos are. Raises BadSettings where it corrects an
        entry that is not there, or a fact has an unknown name.
        """
        with plain_errors(self.place), writing(self.connection):
            added = add_within(self.connection, new, str(self.place))
            beside_within(self.connection, added.entry, beside)
            return added

    def put_right(self, number: int, facts: Mapping[str, str], *, why: str, who: str) -> tuple[str, ...]:
        """Correct what was said about an entry, without a new analysis; gives the names of what changed.

        What was said before stays in `facts`. An empty value takes away what was said. Raises BadSettings for an entry
        that is not there and for an unknown name.
        """
        standing = self.standing(number)
        new = {k: v for k, v in checked_facts(facts, "facts").items() if standing.get(k, "") != v}
        said = tuple(Fact(name, value, why, who, now()) for name, value in new.items())
        with plain_errors(self.place), writing(self.connection):
            facts_within(self.connection, number, said)
        return tuple(new)

    def facts(self, number: int) -> tuple[Fact, ...]:
        """All that was said about an entry beyond its first line, oldest first."""
        with plain_errors(self.place):
            return facts_of(self.connection, number)

    def standing(self, number: int) -> dict[str, str]:
        """What stands now, by the names of `store.facts.NAMES`. Raises BadSettings where there is no such entry."""
        entry = self.entry(number)
        first = {"serial": entry.serial, "job": entry.job, "tested_on": entry.tested_on}
        said = {fact.name: fact.value for fact in self.facts(number)}
        return {name: value for name, value in {**first, **said}.items() if value}

    def entry(self, number: int) -> Entry:
        """Raises BadSettings where the book has no such entry."""
        with plain_errors(self.place):
            row = self.connection.execute(f"{ENTRIES} WHERE entry.id = ?", (number,)).fetchone()
        if row is None:
            raise no_such_entry(str(self.place), number)
        return Entry(*row)

    def as_added(self, number: int) -> Circumstances:
        """What was said when it was added, before anything was put right. The entry is there."""
        with plain_errors(self.place):
            row = self.connection.execute(
                "SELECT who, serial, name, tested_on, corrects, added_at FROM entry LEFT JOIN unit ON unit.id = unit_id "
                "LEFT JOIN job ON job.id = job_id WHERE entry.id = ?",
                (number,),
            ).fetchone()
        return Circumstances(*row)

    def has(self, uid: str) -> bool:
        return self.number_of(uid) is not None

    def number_of(self, uid: str) -> int | None:
        """The entry of this very analysis; None where the book has none."""
        found = self._all("SELECT id FROM entry WHERE uid = ?", uid)
        return found[0][0] if found else None

    def result(self, number: int) -> dict[str, Any]:
        """The stored result, as Result.to_dict gave it. Raises BadSettings where the book has no such entry."""
        self.entry(number)
        with plain_errors(self.place):
            row = self.connection.execute("SELECT packed, sha256 FROM result WHERE entry_id = ?", (number,)).fetchone()
        data = unpack(row[0])
        if sha256_of(data) != row[1]:
            raise _damaged(self.place, f"the result of entry {number}")
        result: dict[str, Any] = json.loads(data)
        return result

    def log(self, number: int) -> bytes:
        """The bench log as it came, byte for byte. Raises BadSettings where the book has no such entry."""
        return self.content(self.entry(number).log_sha256)

    def records(self, number: int) -> tuple[tuple[str, bytes], ...]:
        """Every record of the test, byte for byte, under its file's name. Raises as `log`."""
        files = self.result(number)["run"].get("files") or [{"file": self.entry(number).file, "sha256": None}]
        return tuple((f["file"], self.content(f["sha256"]) if f["sha256"] else self.log(number)) for f in files)

    def attach(self, number: int, beside: Beside) -> None:
        """Add notes and photos to an entry, each unless it is there; all or nothing.

        Raises BadSettings where the book has no such entry.
        """
        self.entry(number)
        with plain_errors(self.place), writing(self.connection):
            beside_within(self.connection, number, beside)

    def notes(self, number: int) -> tuple[Note, ...]:
        """Oldest first."""
        return tuple(Note(*row) for row in self._all("SELECT text, who, added_at FROM note WHERE entry_id = ?", number))

    def photos(self, number: int) -> tuple[Photo, ...]:
        """Oldest first."""
        asked = "SELECT name, sha256, path, who, added_at FROM photo WHERE entry_id = ?"
        return tuple(Photo(*row) for row in self._all(asked, number))

    def measures(self, number: int) -> dict[str, Estimate]:
        """The followed numbers that an entry established."""
        rows = self._all("SELECT name, value, low, high FROM measure WHERE entry_id = ?", number)
        return {name: Estimate(value, low, high) for name, value, low, high in rows}

    def content(self, sha256: str) -> bytes:
        """Anything that is kept by content. Raises UnusableBook where it is missing or damaged."""
        with plain_errors(self.place):
            data = kept(self.connection, sha256)
        if data is None or sha256_of(data) != sha256:
            raise _damaged(self.place, f"the content {sha256[:12]}")
        return data

    def _all(self, query: str, *values: Any) -> list[Any]:
        with plain_errors(self.place):
            return self.connection.execute(query, values).fetchall()

    def settings(self, number: int) -> Settings:
        """What the entry was analysed with. Raises BadSettings where the book has no such entry."""
        sha256 = self.entry(number).settings_sha256
        with plain_errors(self.place):
            row = self.connection.execute("SELECT text FROM settings WHERE sha256 = ?", (sha256,)).fetchone()
        return Settings.from_text(row[0])


@contextmanager
def book_at(place: Path, create: bool = False) -> Iterator[Book]:
    """Open the book for as long as the block lasts; with `create`, an empty one is made where there is none."""
    connection = opened(place, create)
    try:
        yield Book(place, connection)
    finally:
        connection.close()


def read_bytes(path: Path, what: str) -> bytes:
    """All of a regular file. Raises BadSettings where it cannot be read; `what` says what was expected."""
    return file_bytes(path, Wanted(what, LOG))


def no_such_entry(where: str, number: int) -> BadSettings:
    do = "look it up with `dampkit book list`"
    return BadSettings(where, f"there is no entry {number}", "the number of an entry", do)


def _damaged(place: Path, what: str) -> UnusableBook:
    return UnusableBook(str(place), f"{what} is damaged", "bytes that fit their hash", "run `dampkit book check`")


def add_within(connection: sqlite3.Connection, new: NewEntry, where: str) -> Added:
    """Add inside a transaction that is already open."""
    uid = new.uid(_uid_of(connection, new.said.corrects, where))
    known = connection.execute("SELECT id FROM entry WHERE uid = ?", (uid,)).fetchone()
    if known is not None:
        return Added(known[0], False)
    added_at = new.said.added_at or now()
    facts = tuple(
        Fact(name, value, "", new.said.who, added_at)
        for name, value in checked_facts(new.said.facts, where).items()
        if value
    )
    for record in (new.log, *new.more):
        keep(connection, record)
    settings = new.settings
    insert(connection, "settings", {"sha256": settings.sha256, "text": settings.text}, once=True)
    number = _insert(connection, new, uid, added_at)
    facts_within(connection, number, facts)
    return Added(number, True)


def beside_within(connection: sqlite3.Connection, number: int, beside: Beside) -> None:
    """Add inside a transaction that is already open."""
    for note in beside.notes:
        _add_once(connection, "note", {"entry_id": number, **asdict(note)})
    for photo, content in beside.photos:
        if content is not None:
            keep(connection, content)
        _add_once(connection, "photo", {"entry_id": number, **asdict(photo)})


def origin_within(connection: sqlite3.Connection, number: int, again: Again) -> None:
    """Mark an entry as imported, inside a transaction that is already open."""
    insert(connection, "origin", {"entry_id": number, **asdict(again), "added_at": now()})


def _add_once(connection: sqlite3.Connection, table: str, row: dict[str, Any]) -> None:
    names, marks = ", ".join(row), ", ".join(f":{name}" for name in row)
    same = " AND ".join(f"{name} IS :{name}" for name in row)
    connection.execute(
        f"INSERT INTO {table} ({names}) SELECT {marks} WHERE NOT EXISTS (SELECT 1 FROM {table} WHERE {same})", row
    )


def _uid_of(connection: sqlite3.Connection, number: int | None, where: str) -> str | None:
    if number is None:
        return None
    row = connection.execute("SELECT uid FROM entry WHERE id = ?", (number,)).fetchone()
    if row is None:
        raise no_such_entry(where, number)
    return str(row[0])


def _insert(connection: sqlite3.Connection, new: NewEntry, uid: str, added_at: str) -> int:
    said = new.said
    row = {
        "uid": uid,
        "unit_id": named(connection, "unit", "serial", said.serial),
        "job_id": named(connection, "job", "name", said.job),
        "log_sha256": new.log.sha256,
        "settings_sha256": new.settings.sha256,
        "corrects": said.corrects,
        "file": new.result["run"]["file"],
        "tested_on": said.day,
        "action": new.action,
        "faults": new.faults,
        "version": new.result["version"],
        "who": said.who,
        "added_at": added_at,
    }
    number = insert(connection, "entry", row)
    result = {"entry_id": number, "sha256": sha256_of(new.result_json), "packed": new.result_packed}
    insert(connection, "result", result)
    keep_measures(connection, number, new.result)
    return number
