"""Finding entries, and a unit's years."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from dampkit.errors import BadSettings
from dampkit.store.book import Book
from dampkit.store.content import sha256_of
from dampkit.store.look_up import count, find, history
from dampkit.store.question import Question
from dampkit.store.record import Beside, Note
from tests.report.made_up import low_oil, unclear
from tests.store.made import LOG, made, new_book

NEAR_100_PERCENT = "100%_full\\"


@pytest.fixture
def book(tmp_path: Path) -> Iterator[Book]:
    with new_book(tmp_path) as book:
        book.add(made(serial="A-1042", job="blue estate", day="2020-01-01"))
        book.add(made(serial="A-1042", job="blue estate", day="2022-01-01", result=low_oil()))
        book.add(made(serial="B-7", day="2023-01-01"))
        book.add(made(serial="A-1042", day="2023-06-01", corrects=3))
        book.add(made(serial=None, day="2019-01-01", log=b"other"))
        book.add(made(serial=NEAR_100_PERCENT, day="2024-01-01", result=unclear()))
        book.attach(5, Beside((Note("smells BURNT", "made-up fitter", "2024-06-01T10:00:00"),)))
        yield book


@pytest.mark.parametrize(
    ("question", "numbers"),
    [
        (Question(), [6, 5, 4, 2, 1]),
        (Question(corrected=True), [6, 5, 4, 3, 2, 1]),
        (Question(limit=2), [6, 5]),
        (Question(serial="A-1042"), [4, 2, 1]),
        (Question(job="blue estate"), [2, 1]),
        (Question(action="rebuild"), [2]),
        (Question(fault="low_oil"), [2]),
        (Question(fault="low"), []),
        (Question(since="2022-01-01", until="2023-06-01"), [4, 2]),
        (Question(words="ESTATE"), [2, 1]),
        (Question(words="burnt"), [5]),
        (Question(words="%_full\\"), [6]),
        (Question(words="1_0"), []),
        (Question(words="a-1042", since="2023-01-01"), [4]),
        (Question(log_sha256=sha256_of(b"other")), [5]),
        (Question(log_sha256=sha256_of(LOG), action="rebuild"), [2]),
    ],
)
def test_every_part_of_a_question_must_fit(book: Book, question: Question, numbers: list[int]) -> None:
    assert [entry.id for entry in find(book, question)] == numbers


def test_a_history_follows_the_days_and_leaves_out_what_was_corrected(book: Book) -> None:
    assert [test.entry.tested_on for test in history(book, "A-1042")] == ["2020-01-01", "2022-01-01", "2023-06-01"]
    assert count(book) == 6


def test_a_number_that_was_not_established_is_no_number(book: Book) -> None:
    (only,) = history(book, NEAR_100_PERCENT)
    assert only.measures == {}


def test_an_unknown_serial_is_told_with_its_neighbours(book: Book) -> None:
    with pytest.raises(BadSettings, match="perhaps 'A-1042'"):
        history(book, "A-104")


def test_a_unit_whose_only_test_was_corrected_has_no_history(book: Book) -> None:
    with pytest.raises(BadSettings, match="no test of a unit"):
        history(book, "B-7")
