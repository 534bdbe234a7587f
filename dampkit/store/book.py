"""The job book: analyses are added, and nothing that was added is ever changed."""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from dampkit.errors import BadSettings, UnusableBook
from dampkit.store.content import keep, kept, sha256_of, unpack
from dampkit.store.place import opened, told_plainly
from dampkit.store.record import Added, Entry, NewEntry, now
from dampkit.store.schema import writing
from dampkit.store.settings import Settings

COLUMNS = """entry.id, uid, serial, job.name, file, tested_on, action, faults, version, who, added_at, log_sha256,
    settings_sha256, corrects, (SELECT max(later.id) FROM entry AS later WHERE later.corrects = entry.id)"""
ENTRIES = f"SELECT {COLUMNS} FROM entry LEFT JOIN unit ON unit.id = unit_id LEFT JOIN job ON job.id = job_id"


class Book:
    """An open job book. Every method raises UnusableBook where the file cannot be read or written."""

    def __init__(self, place: Path, connection: sqlite3.Connection) -> None:
        self.place, self.connection = place, connection

    def add(self, new: NewEntry) -> Added:
        """Add an analysis; when this returns, it is on the disk. The same analysis again is not added twice.

        Raises BadSettings where it corrects an entry that is not there.
        """
        with told_plainly(self.place), writing(self.connection):
            return add_within(self.connection, new, str(self.place))

    def entry(self, number: int) -> Entry:
        """Raises BadSettings where the book has no such entry."""
        with told_plainly(self.place):
            row = self.connection.execute(f"{ENTRIES} WHERE entry.id = ?", (number,)).fetchone()
        if row is None:
            raise no_such_entry(str(self.place), number)
        return Entry(*row)

    def result(self, number: int) -> dict[str, Any]:
        """The stored result, as Result.to_dict gave it. Raises BadSettings where the book has no such entry."""
        self.entry(number)
        with told_plainly(self.place):
            row = self.connection.execute("SELECT packed, sha256 FROM result WHERE entry_id = ?", (number,)).fetchone()
        data = unpack(row[0])
        if sha256_of(data) != row[1]:
            raise UnusableBook(str(self.place), f"the result of entry {number} is damaged", do="run `dampkit book check`")
        result: dict[str, Any] = json.loads(data)
        return result

    def log(self, number: int) -> bytes:
        """The bench log as it came, byte for byte. Raises BadSettings where the book has no such entry."""
        sha256 = self.entry(number).log_sha256
        with told_plainly(self.place):
            data = kept(self.connection, sha256)
        if data is None or sha256_of(data) != sha256:
            raise UnusableBook(str(self.place), f"the log of entry {number} is damaged", do="run `dampkit book check`")
        return data

    def settings(self, number: int) -> Settings:
        """What the entry was analysed with. Raises BadSettings where the book has no such entry."""
        sha256 = self.entry(number).settings_sha256
        with told_plainly(self.place):
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


def no_such_entry(where: str, number: int) -> BadSettings:
    return BadSettings(where, f"there is no entry {number}", "the number of an entry", "look it up with `dampkit book list`")


def add_within(connection: sqlite3.Connection, new: NewEntry, where: str) -> Added:
    """Add inside a transaction that is already open."""
    uid = new.uid(_uid_of(connection, new.said.corrects, where))
    known = connection.execute("SELECT id FROM entry WHERE uid = ?", (uid,)).fetchone()
    if known is not None:
        return Added(known[0], False)
    keep(connection, new.log)
    settings = new.settings
    connection.execute("INSERT OR IGNORE INTO settings (sha256, text) VALUES (?, ?)", (settings.sha256, settings.text))
    return Added(_insert(connection, new, uid), True)


def _uid_of(connection: sqlite3.Connection, number: int | None, where: str) -> str | None:
    if number is None:
        return None
    row = connection.execute("SELECT uid FROM entry WHERE id = ?", (number,)).fetchone()
    if row is None:
        raise no_such_entry(where, number)
    return str(row[0])


def _insert(connection: sqlite3.Connection, new: NewEntry, uid: str) -> int:
    said = new.said
    row = {
        "uid": uid,
        "unit_id": _named(connection, "unit", "serial", said.serial),
        "job_id": _named(connection, "job", "name", said.job),
        "log_sha256": new.log.sha256,
        "settings_sha256": new.settings.sha256,
        "corrects": said.corrects,
        "file": new.result["run"]["file"],
        "tested_on": said.day,
        "action": new.action,
        "faults": new.faults,
        "version": new.result["version"],
        "who": said.who,
        "added_at": now(),
    }
    names = ", ".join(row)
    marks = ", ".join(f":{name}" for name in row)
    number = connection.execute(f"INSERT INTO entry ({names}) VALUES ({marks})", row).lastrowid
    connection.execute(
        "INSERT INTO result (entry_id, sha256, packed) VALUES (?, ?, ?)",
        (number, sha256_of(new.result_json), new.result_packed),
    )
    return int(number or 0)


def _named(connection: sqlite3.Connection, table: str, column: str, value: str | None) -> int | None:
    """The row of a unit or job with this name, added where it is new."""
    if value is None:
        return None
    connection.execute(f"INSERT OR IGNORE INTO {table} ({column}) VALUES (?)", (value,))
    return int(connection.execute(f"SELECT id FROM {table} WHERE {column} = ?", (value,)).fetchone()[0])
