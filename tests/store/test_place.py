"""Opening: whole or not at all; what is no book is left as it is."""

from __future__ import annotations

import os
import sqlite3
import sys
from pathlib import Path

import pytest

from dampkit.errors import UnusableBook
from dampkit.store.place import default_place, opened, read_header
from dampkit.store.schema import APPLICATION_ID, VERSION
from tests.store.made import made, new_book


def full_book(folder: Path) -> Path:
    with new_book(folder) as book:
        for n in range(5):
            book.add(made(b"%d" % n))
    return book.place


def sqlite_file(place: Path, application: int = 0, version: int = 0) -> Path:
    connection = sqlite3.connect(place)
    connection.execute("CREATE TABLE address (name TEXT)")
    connection.execute(f"PRAGMA application_id = {application}")
    connection.execute(f"PRAGMA user_version = {version}")
    connection.commit()
    connection.close()
    return place


def refused(place: Path, match: str) -> None:
    """Opening raises, and neither the file nor the folder around it is touched."""
    before = place.read_bytes(), place.stat().st_mtime_ns, sorted(place.parent.iterdir())
    for create in (False, True):
        with pytest.raises(UnusableBook, match=match):
            opened(place, create)
    assert (place.read_bytes(), place.stat().st_mtime_ns, sorted(place.parent.iterdir())) == before


@pytest.mark.parametrize("content", [b"", b"t;x;F\n0;0;0\n", b"SQLite format 3\x00", os.urandom(8192)])
def test_a_file_that_is_no_database_is_refused(tmp_path: Path, content: bytes) -> None:
    place = tmp_path / "x.sqlite"
    place.write_bytes(content)
    refused(place, "not a job book")


def test_the_database_of_another_program_is_refused(tmp_path: Path) -> None:
    refused(sqlite_file(tmp_path / "addresses.sqlite"), "not a job book")


def test_a_book_of_a_newer_version_is_refused(tmp_path: Path) -> None:
    place = sqlite_file(tmp_path / "newer.sqlite", APPLICATION_ID, VERSION + 1)
    refused(place, f"form {VERSION + 1}, .* up to {VERSION}")


@pytest.mark.parametrize("part", [0.05, 0.5, 0.999])
def test_a_book_cut_short_is_refused(tmp_path: Path, part: float) -> None:
    place = full_book(tmp_path)
    whole = place.read_bytes()
    place.write_bytes(whole[: int(part * len(whole))])
    refused(place, "cut short")


def test_a_folder_and_a_missing_file_are_refused(tmp_path: Path) -> None:
    with pytest.raises(UnusableBook, match="is a folder"):
        opened(tmp_path)
    with pytest.raises(UnusableBook, match="no job book here"):
        opened(tmp_path / "none.sqlite")
    assert not (tmp_path / "none.sqlite").exists()


def test_the_header_is_read_as_the_published_format_says(tmp_path: Path) -> None:
    """Offsets 16, 28, 60 and 68 of SQLite's published file format, against what the library itself says."""
    place = full_book(tmp_path)
    connection, header = sqlite3.connect(place), read_header(place)
    told = [
        connection.execute(f"PRAGMA {p}").fetchone()[0]
        for p in ("page_size", "page_count", "user_version", "application_id")
    ]
    connection.close()
    assert list(header or ()) == told


def test_a_new_book_leaves_nothing_beside_it(tmp_path: Path) -> None:
    full_book(tmp_path / "new" / "folder")
    assert [p.name for p in (tmp_path / "new" / "folder").iterdir()] == ["book.sqlite"]


def test_the_place_is_in_the_users_data_folder_unless_named(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.delenv("DAMPKIT_BOOK", raising=False)
    monkeypatch.setattr(sys, "platform", "linux")
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path))
    assert default_place() == tmp_path / "dampkit" / "book.sqlite"
    monkeypatch.setenv("DAMPKIT_BOOK", "my.sqlite")
    assert default_place() == Path("my.sqlite")
