"""A book of the first version becomes one of this version, and none of its rows is lost or changed."""

from __future__ import annotations

import hashlib
import shutil
import sqlite3
from contextlib import closing
from pathlib import Path

import pytest

from dampkit.store import schema
from dampkit.store.book import book_at
from dampkit.store.check import complaints
from dampkit.store.look_up import history
from dampkit.store.schema import VERSION, migrate, version_of
from dampkit.store.settings import Settings
from tests.store.made import new_book
from tests.store.make_first_book import LOG, PLACE
from tests.store.stress import rows_of_first_version


@pytest.fixture
def first(tmp_path: Path) -> Path:
    return Path(shutil.copy(PLACE, tmp_path / "first.sqlite"))


def test_the_kept_book_opens_whole_and_unchanged(first: Path) -> None:
    before = rows_of_first_version(first)
    with closing(sqlite3.connect(first)) as raw:
        assert version_of(raw) == 1
    with book_at(first) as book:
        assert version_of(book.connection) == VERSION
        assert complaints(book) == ()
        assert book.log(2) == LOG + b"1\r\n"
        assert book.result(5)["faults"][0]["code"] == "low_oil"
    assert rows_of_first_version(first) == before


def test_settings_of_the_first_version_keep_their_hash() -> None:
    """Written out as the first version did: three kinds, also where there is none."""
    text = b'{"bench":null,"damper":"# made up","vehicle":null}'
    assert Settings(damper="# made up").sha256 == hashlib.sha256(text).hexdigest()
    assert Settings.from_text(text.decode()) == Settings(damper="# made up")


def test_the_kept_book_has_a_history(first: Path) -> None:
    """The made-up friction was 25 N in 2018 and rose by 2 N a year."""
    with book_at(first) as book:
        past = history(book, "A-1042")
    assert [test.entry.tested_on for test in past] == [f"{year}-05-02" for year in range(2018, 2022)]
    assert [test.measures["friction_n"].value for test in past] == [25.0, 27.0, 29.0, 31.0]


def test_a_migrated_book_has_the_form_of_a_new_one(first: Path, tmp_path: Path) -> None:
    with book_at(first) as old, new_book(tmp_path) as new:
        forms = [set(b.connection.execute("SELECT type, name, tbl_name, sql FROM sqlite_master")) for b in (old, new)]
    assert forms[0] == forms[1]


def test_a_step_that_fails_leaves_the_book_at_the_step_before(first: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def breaks(connection: sqlite3.Connection) -> None:
        connection.execute("CREATE TABLE half (x)")
        raise RuntimeError("made to fail")

    monkeypatch.setattr(schema, "MIGRATIONS", (*schema.MIGRATIONS[:2], (breaks,)))
    connection = sqlite3.connect(first, isolation_level=None)
    with pytest.raises(RuntimeError):
        migrate(connection)
    assert version_of(connection) == 2
    assert not connection.execute("SELECT 1 FROM sqlite_master WHERE name = 'half'").fetchall()
    connection.close()


def test_two_that_migrate_at_once_do_it_once(first: Path) -> None:
    with book_at(first), book_at(first) as book:
        assert complaints(book) == ()
