"""The check finds what is wrong, and a backup is whole."""

from __future__ import annotations

import sqlite3
from pathlib import Path

import pytest

from dampkit.errors import BadSettings
from dampkit.store.book import book_at
from dampkit.store.check import backup, complaints
from dampkit.store.content import pack, sha256_of
from dampkit.store.look_up import count
from dampkit.store.record import Beside, Photo
from tests.store.made import made, new_book

DAMAGE = {
    "the log or photo": "UPDATE content SET packed = x'00'",
    "the result of entry 1": "UPDATE result SET packed = (SELECT packed FROM content LIMIT 1)",
    "the settings": "UPDATE settings SET text = '{}'",
    "points at a unit": "DELETE FROM unit",
    "entry 1 has no result": "DELETE FROM result",
    "the photo 'p.jpg'": "DELETE FROM content WHERE sha256 NOT IN (SELECT log_sha256 FROM entry)",
}


@pytest.mark.parametrize("word", DAMAGE)
def test_damage_that_passes_by_the_book_is_found(tmp_path: Path, word: str) -> None:
    with new_book(tmp_path) as book:
        number = book.add(made(job="x")).entry
        book.attach(number, Beside(photos=((Photo("p.jpg", sha256_of(b"p"), None, "", ""), pack(b"p")),)))
        assert complaints(book) == ()
    raw = sqlite3.connect(book.place)
    for (name,) in raw.execute("SELECT name FROM sqlite_master WHERE type = 'trigger'").fetchall():
        raw.execute(f"DROP TRIGGER {name}")
    raw.execute(DAMAGE[word])
    raw.commit()
    raw.close()
    with book_at(book.place) as book:
        assert any(word in complaint for complaint in complaints(book))


def test_bytes_that_rot_on_the_disk_are_found(tmp_path: Path) -> None:
    with new_book(tmp_path) as book:
        book.add(made(bytes(range(256)) * 200))
        packed = book.connection.execute("SELECT packed FROM content").fetchone()[0][:64]
    data = bytearray(book.place.read_bytes())
    data[data.index(packed) + 32] ^= 0xFF
    book.place.write_bytes(data)
    with book_at(book.place) as book:
        assert complaints(book)


def test_a_backup_is_whole_and_never_overwrites(tmp_path: Path) -> None:
    with new_book(tmp_path) as book, new_book(tmp_path) as other:
        book.add(made())
        other.add(made(b"other"))
        backup(book, tmp_path / "copy.sqlite")
        with pytest.raises(BadSettings, match="a file here already"):
            backup(book, tmp_path / "copy.sqlite")
    with book_at(tmp_path / "copy.sqlite") as copy:
        assert (count(copy), complaints(copy)) == (2, ())


def test_a_backup_to_where_nothing_can_be_written_is_refused(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("x")
    with new_book(tmp_path) as book, pytest.raises(BadSettings, match="cannot be written"):
        backup(book, tmp_path / "file" / "copy.sqlite")
