"""What was said about an entry is put right without a new analysis, and nothing that was said is lost."""

from __future__ import annotations

import sqlite3
from pathlib import Path

import pytest

from dampkit.errors import BadSettings
from dampkit.store.archive import export, import_archive
from dampkit.store.book import Book, book_at
from dampkit.store.check import complaints
from dampkit.store.look_up import find, history
from dampkit.store.question import Question
from dampkit.store.record import Beside, Circumstances, Note, new_entry
from dampkit.store.settings import Settings
from tests.report.made_up import low_oil, sound
from tests.store.made import LOG, made, new_book


def test_a_wrong_serial_is_put_right_and_stays_readable(tmp_path: Path) -> None:
    with new_book(tmp_path) as book:
        number = book.add(made(serial="A-1024", job="blue")).entry
        assert book.put_right(number, {"serial": "A-1042", "job": "blue"}, why="digits turned", who="b") == ("serial",)
        assert [past.entry.id for past in history(book, "A-1042")] == [number]
        with pytest.raises(BadSettings, match="no test of a unit"):
            history(book, "A-1024")
        assert book.as_added(number).serial == "A-1024"
        (fact,) = book.facts(number)
        assert (fact.name, fact.value, fact.why, fact.who) == ("serial", "A-1042", "digits turned", "b")
        assert complaints(book) == ()


def test_the_latest_word_stands_and_an_empty_one_takes_away(tmp_path: Path) -> None:
    with new_book(tmp_path) as book:
        number = book.add(made()).entry
        for customer in ("first made-up", "second made-up", ""):
            book.put_right(number, {"customer": customer}, why="", who="b")
        assert book.entry(number).customer is None
        assert [fact.value for fact in book.facts(number)] == ["first made-up", "second made-up", ""]
        book.put_right(number, {"serial": "", "tested_on": "2023-01-02"}, why="", who="b")
        assert (book.entry(number).serial, book.entry(number).tested_on) == (None, "2023-01-02")
        assert find(book, Question(serial="A-1042")) == ()
        assert [entry.id for entry in find(book, Question(until="2023-02-01"))] == [number]


def test_what_is_said_at_once_is_of_the_moment_of_the_entry(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """However the clock goes on meanwhile: a later moment would read as an amendment."""
    clock = (f"2024-05-31T08:00:0{second}.000+00:00" for second in range(10))
    monkeypatch.setattr("dampkit.store.book.now", lambda: next(clock))
    said = Circumstances("made-up fitter", "A-1", facts={"customer": "made up", "unit_type": "12-34"})
    with new_book(tmp_path) as book:
        number = book.add(new_entry(sound(), LOG, Settings(), said)).entry
        assert {fact.added_at for fact in book.facts(number)} == {book.entry(number).added_at}


def test_what_is_said_at_once_is_found_again(tmp_path: Path) -> None:
    said = Circumstances("made-up fitter", "A-1", facts={"customer": "O'Made Up", "unit_type": "12-34", "bench": ""})
    with new_book(tmp_path) as book:
        number = book.add(new_entry(sound(), LOG, Settings(), said)).entry
        for question in (Question(customer="O'Made Up"), Question(unit_type="12-34"), Question(words="made up")):
            assert [entry.id for entry in find(book, question)] == [number]
        assert book.standing(number)["customer"] == "O'Made Up"
        assert "bench" not in book.standing(number)


def test_an_unknown_name_adds_nothing(tmp_path: Path) -> None:
    with new_book(tmp_path) as book:
        number = book.add(made()).entry
        with pytest.raises(BadSettings, match="colour"):
            book.put_right(number, {"serial": "B-7", "colour": "red"}, why="", who="b")
        assert (book.entry(number).serial, book.facts(number)) == ("A-1042", ())
        said = Circumstances("made-up fitter", "B-8", facts={"colour": "red"})
        with pytest.raises(BadSettings, match="colour"):
            book.add(new_entry(sound(), b"other", Settings(), said))
        assert find(book, Question(serial="B-8")) == ()


def test_facts_cannot_be_changed_and_what_stands_is_checked(tmp_path: Path) -> None:
    with new_book(tmp_path) as book:
        number = book.add(made()).entry
        book.put_right(number, {"customer": "made up"}, why="", who="b")
        with pytest.raises(sqlite3.IntegrityError, match="only added to"):
            book.connection.execute("UPDATE fact SET value = 'x'")
        book.connection.execute("UPDATE stands SET customer = 'someone else'")
        assert complaints(book) == (f"entry {number} does not stand as its facts say",)


def test_an_entry_and_its_notes_come_together_or_not_at_all(tmp_path: Path) -> None:
    bad = Note("text", "who", None)  # type: ignore[arg-type]
    with new_book(tmp_path) as book:
        with pytest.raises(Exception, match="NOT NULL"):
            book.add(made(), Beside((bad,)))
        assert find(book, Question()) == ()


@pytest.mark.parametrize("mask", [0o022, 0o077, 0o000])
def test_books_archives_and_copies_are_their_owners_alone(tmp_path: Path, mask: int) -> None:
    import os

    from dampkit.store.check import backup

    before = os.umask(mask)
    try:
        with new_book(tmp_path) as book:
            book.add(made())
            export(book, find(book, Question()), tmp_path / "x.zip")
            backup(book, tmp_path / "copy.sqlite")
    finally:
        os.umask(before)
    for name in ("book.sqlite", "x.zip", "copy.sqlite"):
        assert (tmp_path / name).stat().st_mode & 0o077 == 0
    with book_at(tmp_path / "book.sqlite") as again:
        assert len(import_archive(again, tmp_path / "x.zip")) == 1


def test_what_came_after_a_test_follows_every_change(tmp_path: Path) -> None:
    """Verdict and day of a unit's next test, and of the next of a job's first: on adding, amending and correcting."""
    asked = "SELECT later, later_on, after_work FROM stands ORDER BY entry_id"

    def after(book: Book) -> list[object]:
        assert complaints(book) == ()
        return book.connection.execute(asked).fetchall()

    with new_book(tmp_path) as book:
        book.add(made(b"1", "A", job="j", day="2024-01-01", result=low_oil()))
        book.add(made(b"2", "A", job="j", day="2024-01-03"))
        assert after(book) == [("fit", "2024-01-03", "fit"), (None, None, None)]
        book.add(made(b"3", "B", job="j", day="2024-01-02", result=low_oil()))
        book.put_right(3, {"serial": "A"}, why="wrong label", who="x")
        assert after(book)[0] == ("rebuild", "2024-01-02", "rebuild")
        book.add(made(b"4", "B", corrects=3, day="2024-01-02"))
        assert after(book) == [("fit", "2024-01-03", "fit"), (None, None, None), (None, None, None), (None, None, None)]
        book.put_right(2, {"job": "k"}, why="x", who="x")
        assert after(book)[0] == ("fit", "2024-01-03", None)
        book.connection.execute("UPDATE stands SET later = 'fit' WHERE entry_id = 2")
        assert complaints(book) == ("entry 2 does not say which test came after it",)
