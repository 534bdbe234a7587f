"""Work on a unit stands between the test that asked for it and the test that followed."""

from __future__ import annotations

from base64 import b64encode
from collections.abc import Iterator
from datetime import date
from pathlib import Path

import pytest

from dampkit.errors import BadSettings
from dampkit.outcome.result import Result
from dampkit.store import work_page
from dampkit.store.book import Book
from dampkit.store.check import complaints
from dampkit.store.content import pack, sha256_of
from dampkit.store.papers import Paper
from dampkit.store.record import Beside, Circumstances, Photo, new_entry
from dampkit.store.second_check import sign
from dampkit.store.settings import Settings
from dampkit.store.work_page import photos_of, render_work, work_lines
from dampkit.store.works import STRIP_DOWN, add_work, before_after, build_lines, passed_build
from tests.report.made_up import low_oil, sound
from tests.store.made import new_book

PNG = b"\x89PNG\r\n\x1a\n"
SHEET = """# made up
[work]
rod_runout_mm = 0.04
parts = ["rod seal"]
[work.oil]
out_ml = 210.0
look = "dark"
in_ml = 245.0
[work.as_found.rebound]
holes_mm = [1.2]
[work.as_built.rebound]
holes_mm = [1.2, 1.0]
shims_mm = [[18.0, 0.15], [16, 0.15]]
clicks = 8
"""


def one_test(book: Book, serial: str, day: str, result: Result, job: str | None = "blue") -> int:
    said = Circumstances("made-up fitter", serial, job, day, facts={"unit_type": "12-34"})
    return book.add(new_entry(result, f"{serial}{day}".encode(), Settings(), said)).entry


def sheet(text: str, done_on: str) -> Paper:
    return Paper(STRIP_DOWN, text, done_on, "made-up fitter")


@pytest.fixture
def book(tmp_path: Path) -> Iterator[Book]:
    with new_book(tmp_path) as book:
        yield book


def test_before_work_and_after_stand_together(book: Book) -> None:
    before = one_test(book, "A-1", "2024-01-01", low_oil())
    one_test(book, "A-1", "2024-01-02", sound(), job="another car")
    after = one_test(book, "A-1", "2024-01-05", sound())
    add_work(book, before, sheet(SHEET, "2024-01-03"))
    shown = before_after(book, before)
    assert shown.after is not None
    assert (shown.before.id, shown.after.id) == (before, after)
    assert shown.worked is not None
    assert list(work_lines(shown.worked.work)) == [
        "Rod run-out: 0.04 mm",
        "Oil out: 210 ml, dark",
        "Oil in: 245 ml",
        "Rebound: holes 1.2, 1 mm, shims 18 x 0.15, 16 x 0.15 mm, 8 clicks from closed (found: holes 1.2 mm)",
        "Parts: rod seal",
    ]
    sign(book, after, "made-up foreman")
    book.put_right(after, {"customer": "customer 77", "tested_at": "14:05"}, why="x", who="x")
    page = " ".join(render_work(before_after(book, before)).split())
    assert "After: 2024-01-05, entry 3" in page
    for name, was, now in (
        ("Customer", "-", "customer 77"), ("At", "-", "14:05"), ("By", "made-up fitter", "made-up fitter"),
        ("Checked by", "-", f"made-up foreman, {date.today()}, signed before the change"),
    ):  # fmt: skip
        assert f'<tr><th scope="row">{name}</th><td>{was}</td><td>{now}</td></tr>' in page
    assert "rebuild" in page
    assert complaints(book) == ()


def test_photos_of_both_tests_stand_on_the_page_and_foreign_bytes_do_not(
    book: Book, monkeypatch: pytest.MonkeyPatch
) -> None:
    before = one_test(book, "A-1", "2024-01-01", low_oil())
    after = one_test(book, "A-1", "2024-01-05", sound())
    pictures = {
        "piston.jpg": b"\xff\xd8\xff made up",
        "drawing.svg": b"<svg onload=alert(1)>",
        "big.png": PNG + bytes(99),
    }
    for number, names in ((before, ("piston.jpg", "drawing.svg")), (after, ("big.png",))):
        kept = [(Photo(n, sha256_of(pictures[n]), None, "x", "2024-01-03"), pack(pictures[n])) for n in names]
        book.attach(number, Beside(photos=tuple(kept)))
    book.attach(after, Beside(photos=((Photo("far.jpg", "0" * 64, "/photos/far.jpg", "x", "2024-01-03"), None),)))
    shown = before_after(book, before)
    page = render_work(shown, photos_of(book, shown))
    assert b64encode(pictures["piston.jpg"]).decode() in page
    assert b64encode(pictures["big.png"]).decode() in page
    assert page.count("<img") == 2
    assert "drawing.svg, before, with the work; 2024-01-03, by x; not shown here, the book has it" in page
    assert "it lies at /photos/far.jpg" in page
    assert "onload" not in page
    monkeypatch.setattr(work_page, "MOST_BYTES", 50)
    assert render_work(shown, photos_of(book, shown)).count("<img") == 1


def test_the_latest_sheet_stands_and_the_earlier_one_stays(book: Book) -> None:
    number = one_test(book, "A-1", "2024-01-01", low_oil())
    add_work(book, number, sheet(SHEET, "2024-01-03"))
    add_work(book, number, sheet(SHEET.replace("0.04", "0.4"), "2024-01-03"))
    worked = before_after(book, number).worked
    assert worked is not None
    assert worked.work.rod_runout_mm == 0.4
    assert book.connection.execute("SELECT count(*) FROM paper").fetchone() == (2,)


def test_the_next_unit_starts_from_the_build_that_passed(book: Book) -> None:
    assert passed_build(book, "12-34") is None
    bad = one_test(book, "A-1", "2024-01-01", low_oil())
    add_work(book, bad, sheet(SHEET, "2024-01-02"))
    assert passed_build(book, "12-34") is None  # not tested since
    one_test(book, "A-1", "2024-01-03", low_oil())
    assert passed_build(book, "12-34") is None  # and then it did not pass
    good = one_test(book, "A-2", "2024-02-01", low_oil())
    add_work(book, good, sheet(SHEET.replace("clicks = 8", "clicks = 6"), "2024-02-02"))
    after = one_test(book, "A-2", "2024-02-03", sound())
    found = passed_build(book, "12-34")
    assert found is not None
    assert found[0].id == after
    assert "6 clicks from closed" in next(build_lines(found[1].work))


def test_an_unusable_sheet_or_entry_adds_nothing(book: Book) -> None:
    number = one_test(book, "A-1", "2024-01-01", low_oil())
    for which, text, match in ((number, "[work]\nrod_runout = 1.0", "rod_runout"), (99, SHEET, "no entry 99")):
        with pytest.raises(BadSettings, match=match):
            add_work(book, which, sheet(text, "2024-01-02"))
    assert before_after(book, number).worked is None
