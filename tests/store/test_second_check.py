"""A second person signs an entry; who tested it cannot; what is put right afterwards makes it signed before the change."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from pathlib import Path

import pytest

from dampkit.errors import BadSettings
from dampkit.report.page import render
from dampkit.store.book import Book
from dampkit.store.check import complaints
from dampkit.store.record import Circumstances, new_entry
from dampkit.store.second_check import SecondCheck, as_it_stands, check_of_entry, sign
from dampkit.store.settings import Settings
from tests.report.made_up import sound
from tests.store.made import made, new_book

FACTS = {"technician": "Fitter One", "customer": "customer 77", "unit_type": "12-34", "tested_at": "14:05"}


@pytest.fixture
def book(tmp_path: Path) -> Iterator[Book]:
    with new_book(tmp_path) as book:
        said = Circumstances("clerk", "A-7", "blue, rear", "2024-05-31", facts=FACTS)
        book.add(new_entry(sound(), b"log", Settings(), said))
        yield book


def test_a_check_is_kept_and_stands(book: Book) -> None:
    assert check_of_entry(book, 1) is None
    signed = sign(book, 1, " Foreman  Two ", "serial read again")
    assert check_of_entry(book, 1) == signed == SecondCheck("Foreman Two", signed.on, "serial read again", True)
    assert complaints(book) == ()
    with pytest.raises(sqlite3.IntegrityError, match="only added to"):
        book.connection.execute("DELETE FROM paper")


@pytest.mark.parametrize("by", ["Fitter One", "  fitter   ONE "])
def test_who_tested_it_is_no_second_person(book: Book, by: str) -> None:
    with pytest.raises(BadSettings, match=r"made the test of entry 1\nExpected: a second person"):
        sign(book, 1, by)
    assert check_of_entry(book, 1) is None


def test_where_no_technician_is_told_it_is_who_added_it(book: Book) -> None:
    number = book.add(made(b"another")).entry
    with pytest.raises(BadSettings, match="a second person"):
        sign(book, number, "made-up fitter")
    assert sign(book, number, "Fitter One").stands


@pytest.mark.parametrize(("number", "by", "match"), [(1, " ", "the name is empty"), (9, "x", "no entry 9")])
def test_what_cannot_be_signed_is_refused(book: Book, number: int, by: str, match: str) -> None:
    with pytest.raises(BadSettings, match=match):
        sign(book, number, by)


def test_a_change_after_it_shows_until_it_is_signed_again(book: Book) -> None:
    sign(book, 1, "Foreman Two")
    book.put_right(1, {"customer": "customer 78"}, why="mixed up", who="clerk")
    check = check_of_entry(book, 1)
    assert check is not None
    assert not check.stands
    assert "signed before the change" in render(as_it_stands(book, 1))
    assert sign(book, 1, "Foreman Two").stands
    book.put_right(1, {"technician": "Foreman Two"}, why="", who="clerk")  # and so the check is no second person's
    check = check_of_entry(book, 1)
    assert check is not None
    assert not check.stands


def test_a_corrected_entry_is_not_signed_and_its_check_falls(book: Book) -> None:
    sign(book, 1, "Foreman Two")
    later = book.add(made(b"log 2", "A-7", corrects=1)).entry
    check = check_of_entry(book, 1)
    assert check is not None
    assert not check.stands
    with pytest.raises(BadSettings, match=f"sign entry {later}"):
        sign(book, 1, "Foreman Two")


def test_the_result_carries_what_stands_now(book: Book) -> None:
    book.put_right(1, {"serial": "A-8", "vehicle": "blue estate"}, why="two digits", who="clerk")
    sign(book, 1, "Foreman Two")
    result = as_it_stands(book, 1)
    about = result.about
    assert about is not None
    assert (result.damper.serial, about.vehicle, about.customer, about.by) == (
        "A-8",
        "blue estate",
        "customer 77",
        "Fitter One",
    )
    assert (about.job, about.tested_on, about.tested_at, about.unit_type) == (
        "blue, rear",
        "2024-05-31",
        "14:05",
        "12-34",
    )
    page = render(result)
    for words in ("customer 77", "14:05", "Fitter One", "checked by Foreman Two", "A-8"):
        assert words in page
    assert book.result(1)["about"] is None
