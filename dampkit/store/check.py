"""Is the book whole, and a copy of it that is."""

from __future__ import annotations

import json
import sqlite3
import zlib
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path

from dampkit.errors import BadSettings
from dampkit.files import check_free, onto_disk, whole_file
from dampkit.store.book import Book
from dampkit.store.content import sha256_of, unpack
from dampkit.store.facts import STANDS, STOOD, what_came_after
from dampkit.store.place import plain_errors
from dampkit.store.record import moment_of
from dampkit.store.settings import Settings


def complaints(book: Book) -> tuple[str, ...]:
    """Everything that is wrong with the book, in plain words; empty where every byte is as it was added.

    Reads the whole book: structure, links between rows, and every log, photo, result and settings against its hash.
    """
    with plain_errors(book.place):
        found = list(_structure(book.connection))
        return tuple(found or [*_contents(book.connection), *_results(book.connection), *_settings(book.connection)])


def backup(book: Book, place: Path) -> None:
    """A copy of the book as it is now, whatever others add meanwhile, checked before it gets its name.

    Raises BadSettings where there is a file at `place` already or it cannot be written.
    """
    check_free(place)
    with whole_file(place, make_folder=True, private=True) as draft, plain_errors(f"{place}, copy of {book.place}"):
        copy = sqlite3.connect(draft, isolation_level=None)
        try:
            book.connection.backup(copy)
            wrong = list(_structure(copy))
        finally:
            copy.close()
        if wrong:
            raise BadSettings(str(place), f"the copy is not whole: {wrong[0]}", "a whole copy", "check the disk")
        onto_disk(draft)


CLOCKS_APART = timedelta(hours=1)  # of machines that share a book; own choice
WRITTEN_HERE = {
    "entry": "id NOT IN (SELECT entry_id FROM origin)", "paper": "archive IS NULL", "card": "archive IS NULL",
}  # fmt: skip


def clock_behind(book: Book) -> str | None:
    """When the book was last written, where this machine's clock stands before that; None where it may be right."""
    last = (
        f"(SELECT added_at FROM {table} WHERE {own} ORDER BY id DESC LIMIT 1)" for table, own in WRITTEN_HERE.items()
    )
    with plain_errors(book.place):
        moments = [moment for moment in book.connection.execute(f"SELECT {', '.join(last)}").fetchone() if moment]
    latest = max(moments, key=moment_of, default=None)
    return latest if latest is not None and moment_of(latest) > datetime.now(UTC) + CLOCKS_APART else None


def _structure(connection: sqlite3.Connection) -> Iterator[str]:
    for (line,) in connection.execute("PRAGMA integrity_check"):
        if line != "ok":
            yield f"structure: {line}"
    for table, row, other, _ in connection.execute("PRAGMA foreign_key_check"):
        yield f"row {row} of {table} points at a {other} that is not there"
    alone = "SELECT id FROM entry WHERE id NOT IN (SELECT entry_id FROM result)"
    yield from (f"entry {number} has no result" for (number,) in connection.execute(alone))
    adrift = f"SELECT id FROM (SELECT * FROM ({STANDS}) EXCEPT SELECT {STOOD} FROM stands)"
    yield from (f"entry {number} does not stand as its facts say" for (number,) in connection.execute(adrift))
    after = {row[3]: row for row in connection.execute("SELECT later, later_on, after_work, entry_id FROM stands")}
    for (unit,) in connection.execute("SELECT id FROM unit"):
        wrong = (row for row in what_came_after(connection, unit) if row != after[row[3]])
        yield from (f"entry {row[3]} does not say which test came after it" for row in wrong)
    lost = "SELECT entry_id, name FROM photo WHERE path IS NULL AND sha256 NOT IN (SELECT sha256 FROM content)"
    yield from (f"the photo {name!r} of entry {number} is not in the book" for number, name in connection.execute(lost))


def _whole(packed: bytes, sha256: str) -> bool:
    try:
        return sha256_of(unpack(packed)) == sha256
    except zlib.error:
        return False


def _contents(connection: sqlite3.Connection) -> Iterator[str]:
    for sha256, packed in connection.execute("SELECT sha256, packed FROM content"):
        if not _whole(packed, sha256):
            yield f"the log or photo {sha256[:12]} does not fit its hash"


def _results(connection: sqlite3.Connection) -> Iterator[str]:
    for number, sha256, packed in connection.execute("SELECT entry_id, sha256, packed FROM result"):
        if not _whole(packed, sha256):
            yield f"the result of entry {number} does not fit its hash"
            continue
        for file in json.loads(unpack(packed))["run"].get("files", ())[1:]:
            if connection.execute("SELECT 1 FROM content WHERE sha256 = ?", (file["sha256"],)).fetchone() is None:
                yield f"the record {file['file']!r} of entry {number} is not in the book"


def _settings(connection: sqlite3.Connection) -> Iterator[str]:
    for sha256, text in connection.execute("SELECT sha256, text FROM settings"):
        try:
            fits = Settings.from_text(text).sha256 == sha256
        except (TypeError, json.JSONDecodeError):
            fits = False
        if not fits:
            yield f"the settings {sha256[:12]} do not fit their hash"
