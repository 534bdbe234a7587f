"""Where the job book lies, and opening it: made whole or not at all, and a file that is no book is left as it is."""

from __future__ import annotations

import os
import sqlite3
import struct
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import NamedTuple

from dampkit.errors import UnusableBook
from dampkit.files import PRIVATE, draft_beside, name_if_free
from dampkit.store.schema import APPLICATION_ID, VERSION, migrate, version_of

LOOKS = 5  # at a file that falls short of what its header says
WAIT_S = 120.0  # how long to wait for another process that is writing
MAGIC = b"SQLite format 3\x00"
EXPECTED = "a job book made by dampkit"
# part of what the database library says, or of its name for it -> what was found, what to do
TROUBLES = {
    "DELETE_NOENT": (
        "its journal, the file beside it, was removed while the job book was being written: what was being added is in"
        " it, or nothing of it is",
        "look whether it is there, run `dampkit book check`, and leave the files beside the book alone",
    ),
    "full": ("the disk is full; nothing was added", "free some space, then do the same again"),
    "readonly": (
        "the job book is read-only; nothing was added",
        "allow writing to the file and its folder, or name another --book",
    ),
    "unable to open": (
        "the job book or its folder cannot be opened",
        "check access to the file and to its folder",
    ),
    "locked": (
        f"another program kept the job book for {WAIT_S:.0f} s",
        "close that program, then do the same again",
    ),
    "malformed": (
        "the job book is damaged",
        "keep this file, run `dampkit book check`, and go back to the last backup",
    ),
    "not a database": ("the job book is damaged", "keep this file and go back to the last backup"),
    "disk I/O": (
        "the disk refused to read or write; nothing was added",
        "check the disk and its free space, then do the same again",
    ),
}


class Header(NamedTuple):
    """What the first hundred bytes of an SQLite file say; offsets as in its published file format."""

    page_bytes: int
    pages: int
    version: int
    application: int


def default_place() -> Path:
    """`book.sqlite` in the user's data folder; the variable DAMPKIT_BOOK names another place."""
    if named := os.environ.get("DAMPKIT_BOOK"):
        return Path(named)
    home = Path.home()
    if sys.platform == "win32":
        folder = Path(os.environ.get("LOCALAPPDATA") or home / "AppData" / "Local")
    elif sys.platform == "darwin":
        folder = home / "Library" / "Application Support"
    else:
        folder = Path(os.environ.get("XDG_DATA_HOME") or home / ".local" / "share")
    return folder / "dampkit" / "book.sqlite"


@contextmanager
def plain_errors(place: Path | str) -> Iterator[None]:
    """Turn what the database and the file system report into an error for the person at the bench."""
    try:
        yield
    except sqlite3.Error as error:
        raise _explained(place, error) from error
    except OSError as error:
        found = f"the job book cannot be used: {error.strerror or error}"
        expected = "a file that can be read and written"
        raise UnusableBook(str(place), found, expected, "check the place and access") from error


def opened(place: Path, create: bool = False) -> sqlite3.Connection:
    """A connection to the book at `place`, brought to this version of the schema.

    Raises UnusableBook where there is none and `create` is False, and where the file is no book, is cut short, was made
    by a newer version, or cannot be read or written; such a file is not touched.
    """
    with plain_errors(place):
        if create and not place.exists():
            _make(place)
        _refuse_foreign(place)
        return _connect(place)


def _explained(place: Path | str, error: sqlite3.Error) -> UnusableBook:
    text = f"{error} {getattr(error, 'sqlite_errorname', '')}".rstrip()
    for part, (found, do) in TROUBLES.items():
        if part in text:
            expected = EXPECTED if "damaged" in found else "a file that can be read and written"
            return UnusableBook(str(place), found, expected, do)
    return UnusableBook(str(place), f"the job book cannot be used: {text}", EXPECTED, "run `dampkit book check`")


def _make(place: Path) -> None:
    """Write an empty book beside its place and give it its name in one step.

    Where another process was first, its book is the one that is used.
    """
    place.parent.mkdir(parents=True, exist_ok=True)
    draft = draft_beside(place)
    try:
        draft.touch(mode=PRIVATE, exist_ok=False)  # customers' names are in it
        connection = sqlite3.connect(draft, isolation_level=None)
        try:
            migrate(connection)
        finally:
            connection.close()
        name_if_free(draft, place)
    finally:
        draft.unlink(missing_ok=True)


def read_header(place: Path) -> Header | None:
    """The header of an SQLite file, or None where the file is something else."""
    with place.open("rb") as file:
        head = file.read(100)
    if len(head) < 100 or not head.startswith(MAGIC):
        return None
    page_bytes = struct.unpack_from(">H", head, 16)[0]
    pages, version, application = (struct.unpack_from(">I", head, at)[0] for at in (28, 60, 68))
    return Header(65536 if page_bytes == 1 else page_bytes, pages, version, application)


def _refuse_foreign(place: Path) -> None:
    """Look at the bytes only: a file that is no whole book of a known version never reaches the database library."""
    if not place.exists():
        do = "add a run first, or name the right file with --book"
        raise UnusableBook(str(place), "there is no job book here", EXPECTED, do)
    if place.is_dir():
        raise UnusableBook(str(place), "this is a folder", EXPECTED, "name the book file itself")
    header, other = read_header(place), "name another file with --book; this one was left as it is"
    if header is None or header.application != APPLICATION_ID:
        raise UnusableBook(str(place), "this file is not a job book, or its beginning is lost", EXPECTED, other)
    if header.version > VERSION:
        found = f"this job book is of form {header.version}, and this version of dampkit knows forms up to {VERSION}"
        do = "use the newer dampkit that wrote it; the file was left as it is"
        raise UnusableBook(str(place), found, EXPECTED, do)
    if missing := _bytes_missing(place):
        found = f"this job book is cut short: at least {missing} bytes are missing"
        raise UnusableBook(str(place), found, EXPECTED, "go back to the last backup; this file was left as it is")


def _bytes_missing(place: Path) -> int:
    """How far the file falls short of what its header says, seen at every one of several looks.

    A journal beside the book means a change under way or broken off, which the database library finishes or undoes.
    """
    missing = 0
    for _ in range(LOOKS):
        header = read_header(place)
        under_way = place.with_name(place.name + "-journal").exists()
        missing = 1 if header is None else header.page_bytes * header.pages - place.stat().st_size
        if missing <= 0 or under_way:
            return 0
        time.sleep(0.05)
    return missing


def _connect(place: Path) -> sqlite3.Connection:
    connection = sqlite3.connect(place, timeout=WAIT_S, isolation_level=None)
    try:
        # A rollback journal keeps the book one file, also on a shared drive; EXTRA also syncs the folder
        # after a commit.
        connection.execute("PRAGMA synchronous = EXTRA")
        connection.execute("PRAGMA foreign_keys = ON")
        connection.execute("PRAGMA trusted_schema = OFF")
        if version_of(connection) < VERSION:
            migrate(connection)
    except BaseException:
        connection.close()
        raise
    return connection
