"""The library: versions stay, a name that is not there is told with its neighbours, a file must be usable."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from pathlib import Path

import pytest

from dampkit.errors import BadSettings
from dampkit.store.book import Book
from dampkit.store.check import complaints
from dampkit.store.content import pack, sha256_of
from dampkit.store.library import NewCard, add_card, card_of, cards, drawings_of, history_of
from tests.store.made import new_book

FIRST = '# made up\n[damper]\nkind = "twin-tube"\nrod_diameter_mm = 12.4\n'
SECOND = FIRST.replace("12.4", "12.0")


@pytest.fixture
def book(tmp_path: Path) -> Iterator[Book]:
    with new_book(tmp_path) as book:
        yield book


def new(name: str = "12-34", text: str = FIRST, **more: object) -> NewCard:
    return NewCard("unit-type", name, text, "made-up fitter", **more)  # type: ignore[arg-type]


def test_a_new_version_leaves_the_old_one(book: Book) -> None:
    add_card(book, new())
    card, fresh = add_card(book, new(text=SECOND, why="measured again"))
    assert (card.version, fresh, card.title) == (2, True, "12-34, version 2")
    assert [each.text for each in history_of(book, "unit-type", "12-34")] == [FIRST, SECOND]
    assert card_of(book, "unit-type", "12-34").text == SECOND
    assert card_of(book, "unit-type", "12-34", 1).text == FIRST
    assert [each.version for each in cards(book, "unit-type")] == [2]
    with pytest.raises(sqlite3.IntegrityError, match="only added to"):
        book.connection.execute("UPDATE card SET text = ''")


def test_the_same_text_again_is_no_new_version(book: Book) -> None:
    add_card(book, new())
    assert add_card(book, new())[1] is False
    assert len(history_of(book, "unit-type", "12-34")) == 1


def test_kinds_do_not_mix(book: Book) -> None:
    add_card(book, new())
    assert cards(book, "vehicle") == ()
    with pytest.raises(BadSettings, match="no bench '12-34'"):
        card_of(book, "bench", "12-34")


@pytest.mark.parametrize(
    ("name", "text", "match"),
    [
        ("", FIRST, "the name is empty"),
        ("x", "[damper", "not valid TOML"),
        ("x", '[damper]\nkind = "cat"\n', "kind"),
        ("x", '[damper]\nserial = "A-1"\n', "one unit has it"),
    ],
)
def test_what_is_unusable_is_refused(book: Book, name: str, text: str, match: str) -> None:
    with pytest.raises(BadSettings, match=match):
        add_card(book, new(name, text))
    assert cards(book, "unit-type") == ()


def test_a_name_that_comes_near_is_offered(book: Book) -> None:
    add_card(book, new("rear, estate"))
    with pytest.raises(BadSettings, match="perhaps 'rear, estate'"):
        card_of(book, "unit-type", "rear estate")
    with pytest.raises(BadSettings, match="no version 2"):
        card_of(book, "unit-type", "rear, estate", 2)


def test_drawings_are_kept_by_content(book: Book) -> None:
    card, _ = add_card(book, new(drawings=(("valve.png", pack(b"\x89PNG")),)))
    assert drawings_of(book, card) == (("valve.png", sha256_of(b"\x89PNG")),)
    assert book.content(sha256_of(b"\x89PNG")) == b"\x89PNG"
    assert complaints(book) == ()
