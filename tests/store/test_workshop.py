"""The workshop's card: one a book, its mark a harmless picture, at the head of every page."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from dampkit.app.main import run_command
from dampkit.errors import BadSettings
from dampkit.outcome.workshop import Letterhead, letterhead_from, mark_address
from dampkit.report.document import Look
from dampkit.report.page import render
from dampkit.store.book import Book
from dampkit.store.check import complaints
from dampkit.store.library import WORKSHOP, add_workshop, workshop_of
from tests.report.made_up import sound
from tests.report.sheets_made_up import png
from tests.store.made import new_book

TEXT = """# made up
[workshop]
name = "Made-up Damper Works"
address = ["1 Invented Street", "Nowhere"]
mark = "mark.png"
"""
SVG = b'<?xml version="1.0"?><svg xmlns="http://www.w3.org/2000/svg" onload="alert(1)"/>'


@pytest.fixture
def book(tmp_path: Path) -> Iterator[Book]:
    with new_book(tmp_path) as book:
        yield book


def test_versions_stay_and_a_new_mark_is_a_new_version(book: Book) -> None:
    assert workshop_of(book) is None
    said = ("", "made-up fitter")
    assert add_workshop(book, TEXT, ("mark.png", png()), said)[1]
    assert not add_workshop(book, TEXT, ("mark.png", png()), said)[1]
    card, fresh = add_workshop(book, TEXT, ("mark.png", png(30)), said)
    assert (card.version, fresh) == (2, True)
    found = workshop_of(book)
    assert found == Letterhead(
        "Made-up Damper Works", ("1 Invented Street", "Nowhere"), mark=mark_address(png(30), WORKSHOP)
    )
    assert complaints(book) == ()


@pytest.mark.parametrize(
    ("data", "match"),
    [
        (SVG, "a drawing in SVG, which can hold programs"),
        (b"<html>", "neither a PNG nor a JPEG"),
        (b"\xff\xd8\xff" + bytes(300_000), "more than 300000 bytes of a mark"),
    ],
)
def test_a_mark_that_is_no_small_picture_is_refused(book: Book, data: bytes, match: str) -> None:
    with pytest.raises(BadSettings, match=match):
        add_workshop(book, TEXT, ("mark.png", data), ("", "x"))
    assert workshop_of(book) is None


@pytest.mark.parametrize(
    ("text", "match"), [("../mark.png", "lies beside this one"), ("C:\\\\m.png", "lies beside"), ("no.png", "no.png")]
)
def test_a_mark_lies_beside_its_file(tmp_path: Path, text: str, match: str) -> None:
    file = tmp_path / "workshop.toml"
    file.write_text(TEXT.replace("mark.png", text))
    with pytest.raises(BadSettings, match=match):
        letterhead_from(file)


def test_it_stands_at_the_head_of_a_page_and_nothing_else_does(book: Book) -> None:
    add_workshop(book, TEXT, ("mark.png", png()), ("", "x"))
    page = render(sound(), Look(letterhead=workshop_of(book)))
    assert page.count("Made-up Damper Works") == page.count('<img src="data:image/png;base64,') == 1
    assert "1 Invented Street, Nowhere" in page
    assert "<img" not in render(sound())
    hostile = Letterhead("<script>x</script>", ("<b>",))
    assert "<script>x" not in render(sound(), Look(letterhead=hostile))


def test_the_commands(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    monkeypatch.setenv("DAMPKIT_BOOK", str(tmp_path / "book.sqlite"))
    file = tmp_path / "workshop.toml"
    file.write_text(TEXT)
    (tmp_path / "mark.png").write_bytes(png())
    assert run_command(["book", "workshop", "add", str(file), "--who", "x"]) == 0
    file.write_text(TEXT.replace("1 Inv", "2 Inv"))
    assert run_command(["book", "workshop", "add", str(file), "--why", "moved"]) == 0
    capsys.readouterr()
    assert run_command(["book", "workshop", "show", "--version", "1", "--drawings", str(tmp_path / "out")]) == 0
    assert capsys.readouterr().out == TEXT
    assert (tmp_path / "out" / "mark.png").read_bytes() == png()
    assert run_command(["book", "workshop", "history"]) == 0
    assert "moved" in capsys.readouterr().out


def test_without_a_card_it_says_how_to_make_one(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setenv("DAMPKIT_BOOK", str(tmp_path / "book.sqlite"))
    with new_book(tmp_path):
        pass
    assert run_command(["book", "workshop", "show"]) == 2
    assert "dampkit new workshop" in capsys.readouterr().err
