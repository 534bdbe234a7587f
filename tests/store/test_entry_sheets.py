"""The sheets of an entry: what stands now, the workshop's head, and before and after where work was written down."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from dampkit.app.main import run_command
from dampkit.store.book import Book
from dampkit.store.entry_sheets import earlier_of, write_entry_sheets
from dampkit.store.library import add_workshop
from dampkit.store.record import Circumstances, new_entry
from dampkit.store.second_check import sign
from dampkit.store.settings import Settings
from dampkit.store.works import add_work
from tests.report.made_up import low_oil, sound
from tests.report.sheets_made_up import png
from tests.store.made import new_book
from tests.store.test_works import SHEET, sheet

WORKSHOP = '[workshop]\nname = "Made-up Damper Works"\nmark = "mark.png"\n'


def one_test(book: Book, day: str, faulty: bool, serial: str = "A-1") -> int:
    said = Circumstances("clerk", serial, "blue", day, facts={"technician": "Fitter One", "customer": "customer 77"})
    return book.add(new_entry(low_oil() if faulty else sound(), f"{serial}{day}".encode(), Settings(), said)).entry


@pytest.fixture
def book(tmp_path: Path) -> Iterator[Book]:
    with new_book(tmp_path) as book:
        yield book


def test_after_the_work_both_tests_stand_side_by_side(book: Book, tmp_path: Path) -> None:
    before = one_test(book, "2024-01-01", faulty=True)
    add_work(book, before, sheet(SHEET, "2024-01-03"))
    other = one_test(book, "2024-01-04", faulty=False, serial="A-2")
    after = one_test(book, "2024-01-05", faulty=False)
    later = one_test(book, "2024-01-09", faulty=False)
    found = earlier_of(book, after)
    assert found is not None
    assert (found.tested_on, found.worked_on) == ("2024-01-01", "2024-01-03")
    assert found.work == ("new: rod seal", "oil: 245 ml")
    assert [earlier_of(book, each) for each in (before, other, later)] == [None, None, None]
    page = write_entry_sheets(book, after, tmp_path / "out.html").read_text(encoding="utf-8")
    assert "Before and after the work" in page


def test_the_command_puts_what_stands_now_on_every_part(
    book: Book, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("DAMPKIT_BOOK", str(book.place))
    one_test(book, "2024-01-01", faulty=True)
    add_workshop(book, WORKSHOP, ("mark.png", png()), ("", "x"))
    sign(book, 1, "Foreman Two")
    book.put_right(1, {"tested_at": "14:05"}, why="", who="clerk")
    sheets, report = tmp_path / "sheets.html", tmp_path / "report.html"
    command = ["book", "show", "1", "--sheets", str(sheets), "--report", str(report), "--units", "imperial"]
    assert run_command(command) == 0
    for text, times in ((sheets.read_text(encoding="utf-8"), 3), (report.read_text(encoding="utf-8"), 1)):
        assert text.count('<img src="data:image/png') == times
        assert text.count("Made-up Damper Works") == times
        for words in ("customer 77", "14:05", "Fitter One", "Foreman Two", "signed before the change"):
            assert text.count(words) >= times
        assert "lbf" in text


@pytest.mark.slow
def test_a_test_is_analysed_to_sheets_without_a_book(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("DAMPKIT_BOOK", str(tmp_path / "none.sqlite"))
    log = Path(__file__).parents[2] / "sample_runs" / "drawing_table.csv"
    (tmp_path / "workshop.toml").write_text(WORKSHOP)
    (tmp_path / "mark.png").write_bytes(png())
    files = [f"--{kind}={log.with_suffix('')}.{kind}.toml" for kind in ("damper", "vehicle", "inspection")]
    said = ["--customer", "customer 77", "--at", "14:05", "--by", "Fitter One", "--serial", "A-1", "--job", "blue"]
    out, stored = tmp_path / "out.html", tmp_path / "out.json"
    made = ["--sheets", str(out), "--workshop", str(tmp_path / "workshop.toml"), "--json", str(stored)]
    assert run_command(["analyse", str(log), *files, *said, *made]) == 0
    page = out.read_text(encoding="utf-8")
    assert page.count("Made-up Damper Works") == 3
    for words in ("customer 77", "14:05", "It may go on the car."):
        assert words in page
    again = tmp_path / "again.html"
    assert run_command(["page", str(stored), "--sheets", str(again)]) == 0
    assert "customer 77" in again.read_text(encoding="utf-8")


def test_a_book_that_is_not_named_never_stops_an_analysis(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    from dampkit.app.letterhead import letterhead_for
    from dampkit.errors import UnusableBook

    broken = tmp_path / "broken.sqlite"
    broken.write_bytes(b"this is no book")
    monkeypatch.setenv("DAMPKIT_BOOK", str(broken))
    assert letterhead_for(None, None) is None
    assert "stays without the workshop's name" in capsys.readouterr().err
    with pytest.raises(UnusableBook):
        letterhead_for(None, broken)
