"""What goes into the book comes out byte for byte, once, and is never changed."""

from __future__ import annotations

import sqlite3
import tempfile
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from dampkit.errors import BadSettings, UnusableBook
from dampkit.store.content import pack, sha256_of
from dampkit.store.record import Beside, Note, Photo
from tests.report.made_up import ALL, low_oil, sound
from tests.store.made import LOG, made, new_book

NOTE = Note("new seal", "made-up fitter", "2024-06-01T10:00:00")


@pytest.mark.slow
@settings(max_examples=40, deadline=None)
@given(log=st.binary(max_size=3000), serial=st.text(st.characters(codec="utf-8"), min_size=1, max_size=40))
def test_a_log_of_any_bytes_comes_back_as_it_was(log: bytes, serial: str) -> None:
    with tempfile.TemporaryDirectory() as folder, new_book(Path(folder)) as book:
        number = book.add(made(log, serial)).entry
        assert book.log(number) == log
        assert book.entry(number).serial == serial


@pytest.mark.parametrize("name", ALL)
def test_a_result_comes_back_as_it_was(tmp_path: Path, name: str) -> None:
    result = ALL[name]()
    with new_book(tmp_path) as book:
        assert book.result(book.add(made(result=result)).entry) == result.to_dict()


def test_what_was_said_comes_back(tmp_path: Path) -> None:
    new = made(job="blue, rear")
    with new_book(tmp_path) as book:
        entry = book.entry(book.add(new).entry)
        assert (entry.serial, entry.job, entry.tested_on, entry.who) == (
            "A-1042",
            "blue, rear",
            "2024-05-31",
            new.said.who,
        )
        assert (entry.action, entry.faults, entry.version) == ("fit", "", sound().version)
        assert entry.log_sha256 == sha256_of(LOG)
        assert book.settings(entry.id) == new.settings


def test_suspected_faults_carry_a_question_mark(tmp_path: Path) -> None:
    fault = low_oil().faults[0]
    result = low_oil().model_copy(update={"faults": (fault.model_copy(update={"level": "suspected"}), fault)})
    assert made(result=result).faults == "low_oil low_oil?"


def test_the_same_analysis_is_added_once(tmp_path: Path) -> None:
    with new_book(tmp_path) as book:
        first, again = book.add(made(day="2024-05-31")), book.add(made(day="2024-06-02"))
        assert (first.fresh, again.fresh) == (True, False)
        assert first.entry == again.entry


@pytest.mark.parametrize("other", [{"serial": "B-7"}, {"job": "x"}, {"result": low_oil()}, {"log": b"other"}])
def test_another_analysis_is_another_entry(tmp_path: Path, other: dict[str, object]) -> None:
    with new_book(tmp_path) as book:
        book.add(made())
        assert book.add(made(**other)).fresh  # type: ignore[arg-type]


def test_the_same_log_is_stored_once(tmp_path: Path) -> None:
    with new_book(tmp_path) as book:
        book.add(made(serial="A"))
        book.add(made(serial="B"))
        assert book.connection.execute("SELECT count(*) FROM content").fetchone() == (1,)


def test_a_correction_points_at_what_it_corrects_and_leaves_it(tmp_path: Path) -> None:
    with new_book(tmp_path) as book:
        wrong = book.add(made(serial="A-1043")).entry
        before = book.entry(wrong)
        right = book.add(made(corrects=wrong)).entry
        assert book.entry(right).corrects == wrong
        assert book.entry(wrong).corrected_by == right
        assert (book.entry(wrong).serial, book.entry(wrong).uid) == (before.serial, before.uid)


def test_correcting_an_entry_that_is_not_there_is_refused(tmp_path: Path) -> None:
    with new_book(tmp_path) as book:
        with pytest.raises(BadSettings, match="no entry 9"):
            book.add(made(corrects=9))
        assert book.connection.execute("SELECT count(*) FROM content").fetchone() == (0,)


@pytest.mark.parametrize("table", ["unit", "job", "content", "settings", "entry", "result", "note", "photo", "measure"])
@pytest.mark.parametrize("change", ["UPDATE {0} SET rowid = rowid", "DELETE FROM {0}"])
def test_no_row_can_be_changed_or_removed(tmp_path: Path, table: str, change: str) -> None:
    if table == "measure":
        change = change.replace("rowid", "name")
    with new_book(tmp_path) as book:
        number = book.add(made(job="x")).entry
        book.attach(number, Beside((NOTE,)))
        book.attach(number, Beside(photos=((Photo("p.jpg", sha256_of(b"p"), None, "", ""), pack(b"p")),)))
        with pytest.raises(sqlite3.IntegrityError, match="only added to"):
            book.connection.execute(change.format(table))


def test_notes_and_photos_are_kept_with_their_entry(tmp_path: Path) -> None:
    kept, named = (
        Photo("a.jpg", sha256_of(b"\xff\xd8"), None, "x", "1"),
        Photo("b.jpg", sha256_of(b"b"), "/b.jpg", "x", "1"),
    )
    with new_book(tmp_path) as book:
        number = book.add(made()).entry
        for _ in range(2):  # the same again is not added twice
            book.attach(number, Beside((NOTE,)))
            book.attach(number, Beside(photos=((kept, pack(b"\xff\xd8")),)))
            book.attach(number, Beside(photos=((named, None),)))
        assert book.notes(number) == (NOTE,)
        assert book.photos(number) == (kept, named)
        assert book.content(kept.sha256) == b"\xff\xd8"
        with pytest.raises(UnusableBook, match="damaged"):
            book.content(named.sha256)


def test_an_entry_that_is_not_there_is_said_so(tmp_path: Path) -> None:
    with new_book(tmp_path) as book:
        for ask in (book.entry, book.result, book.log, book.settings):
            with pytest.raises(BadSettings, match=r"no entry 3.*\n.*\n.*book list"):
                ask(3)
