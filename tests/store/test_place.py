"""Opening: whole or not at all; what is no book is left as it is; full and read-only disks are told plainly."""

from __future__ import annotations

import multiprocessing
import os
import resource
import shutil
import signal
import sqlite3
import stat
import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path

import pytest

from dampkit.errors import UnusableBook
from dampkit.store.book import book_at
from dampkit.store.check import complaints
from dampkit.store.place import default_place, opened, read_header
from dampkit.store.record import NewEntry
from dampkit.store.schema import APPLICATION_ID, VERSION
from tests.store.made import made, new_book

pytestmark = pytest.mark.filterwarnings(
    "ignore:.*fork:DeprecationWarning"
)  # the children use no thread of their parent

NOBODY = 65534


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


def test_a_full_book_file_is_told_and_stays_whole(tmp_path: Path) -> None:
    with new_book(tmp_path) as book:
        kept = book.add(made(b"first")).entry
        pages = book.connection.execute("PRAGMA page_count").fetchone()[0]
        book.connection.execute(f"PRAGMA max_page_count = {pages + 2}")
        with pytest.raises(UnusableBook, match="disk is full; nothing was added"):
            book.add(made(os.urandom(200_000)))
        assert complaints(book) == ()
        assert book.log(kept) == b"first"
        assert book.connection.execute("SELECT count(*) FROM entry").fetchone() == (1,)


def add_in_child(place: Path, largest_bytes: int = 0) -> tuple[int, str]:
    """Add in a process of a user that is not root (root may write everywhere); gives exit status and what was said.

    `largest_bytes` is how large the system lets that process make a file; 0 for no limit.
    """
    new, (read, write) = made(os.urandom(400_000)), os.pipe()
    child = multiprocessing.get_context("fork").Process(target=_add, args=(place, new, largest_bytes, write))
    child.start()
    os.close(write)
    with os.fdopen(read) as said:
        text = said.read()
    child.join()
    return child.exitcode or 0, text


def _add(place: Path, new: NewEntry, largest_bytes: int, write: int) -> None:
    signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
    if largest_bytes:
        resource.setrlimit(resource.RLIMIT_FSIZE, (largest_bytes, largest_bytes))
    if os.getuid() == 0:
        os.setuid(NOBODY)
    try:
        with book_at(place) as book:
            os.write(write, b"entry %d read; " % book.entry(1).id)
            book.add(new)
    except UnusableBook as error:
        os.write(write, "; ".join(error.lines()).encode())
        os._exit(error.exit_status)


@pytest.fixture
def open_folder() -> Iterator[Path]:
    """A folder that another user may use as well."""
    folder = Path(tempfile.mkdtemp(prefix="dampkit-test-"))
    folder.chmod(0o777)
    yield folder
    shutil.rmtree(folder)


def test_a_system_that_refuses_more_bytes_is_told_and_the_book_stays_whole(open_folder: Path) -> None:
    place = full_book(open_folder)
    place.chmod(0o666)
    status, said = add_in_child(place, place.stat().st_size + 8192)
    assert (status, "nothing was added" in said) == (5, True), said
    with book_at(place) as book:
        assert complaints(book) == ()
        assert book.connection.execute("SELECT count(*) FROM entry").fetchone() == (5,)


def test_a_read_only_book_can_be_read_and_says_that_it_cannot_be_written(open_folder: Path) -> None:
    place = full_book(open_folder)
    place.chmod(stat.S_IRUSR | stat.S_IRGRP | stat.S_IROTH)
    open_folder.chmod(0o555)
    status, said = add_in_child(place)
    assert said.startswith("entry 1 read; ")
    assert (status, "read-only; nothing was added" in said) == (5, True), said


def test_the_place_is_in_the_users_data_folder_unless_named(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.delenv("DAMPKIT_BOOK", raising=False)
    monkeypatch.setattr(sys, "platform", "linux")
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path))
    assert default_place() == tmp_path / "dampkit" / "book.sqlite"
    monkeypatch.setenv("DAMPKIT_BOOK", "my.sqlite")
    assert default_place() == Path("my.sqlite")
