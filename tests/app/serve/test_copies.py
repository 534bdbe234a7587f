"""Copies of a big book: made and taken in apart from the pages, with word on how far they are, in bounded memory."""

from __future__ import annotations

import tracemalloc
from collections.abc import Callable
from concurrent.futures import Future
from functools import partial
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from dampkit.app.serve.copies import LONG, MOST_KEPT, MOST_WAITING, Copies, keep_progress
from dampkit.app.serve.exchange import read_in, write_out
from dampkit.app.serve.workers import Workers
from dampkit.errors import BadSettings
from dampkit.store.again import Repeated
from dampkit.store.book import book_at
from dampkit.store.content import pack
from dampkit.store.record import Beside, Photo, now
from tests.app.serve.desk import Desk, house_in, words
from tests.app.serve.test_shelves import kept_entry

PHOTO_BYTES, FEW, MANY = 1_500_000, 2, 5


class Hands:
    """A process of which a test says when its work is done."""

    def __init__(self) -> None:
        self.works: list[Future[Any]] = []

    def begin(self, *_: object) -> Future[Any]:
        self.works.append(Future())
        return self.works[-1]


def test_a_long_copy_says_how_far_it_is_and_is_saved_when_it_is_ready(desk: Desk) -> None:
    kept_entry(desk, serial="A-1")
    hands = Hands()
    desk.house.copies.workers = hands  # type: ignore[assignment]
    desk.get("/exchange")
    place = desk.post("/exchange/out", {"as": "zip"}).headers["location"]
    (copy,) = desk.house.copies.held.values()
    assert "refresh" in desk.ask("GET", place).text
    assert "<progress" not in desk.ask("GET", place).text
    keep_progress(str(copy.folder), 30, 120)
    page = desk.ask("GET", place)
    assert "30 of 120 done" in words(page)
    assert 'max="120" value="30"' in page.text
    assert desk.ask("GET", f"{place}/file").status_code == 404
    assert "At the bench" in words(desk.get("/"))  # the pages answer meanwhile
    hands.works[0].set_result(write_out(str(copy.folder), str(desk.house.book), "archive.zip", {}))
    assert "1 entry" in words(desk.ask("GET", place))
    assert desk.ask("GET", f"{place}/file").content.startswith(b"PK")
    other = Desk(desk.house)
    other.get("/")
    assert other.ask("GET", f"{place}/file").status_code == 200  # a colleague's tablet may save it
    assert desk.ask("GET", "/exchange/" + "0" * 32).status_code == 404


def test_a_copy_may_take_longer_than_an_analysis_and_copies_wait_for_each_other() -> None:
    assert LONG.seconds.most > 3600
    told: list[str] = []
    hands = Hands()
    made = Copies(lambda: Path(f"aside-{len(hands.works)}"), told.append)
    made.workers = hands  # type: ignore[assignment]
    waiting = [made.begin(lambda *_: {}) for _ in range(MOST_WAITING)]
    with pytest.raises(BadSettings, match="wait until one of them is done"):
        made.begin(lambda *_: {})
    for work in hands.works:
        work.set_result({})
    assert told == [what for one in waiting for what in (f"done/exchange/{one.id}", "book")]
    made.begin(lambda *_: {})
    assert len(made.held) == MOST_KEPT + 1


def test_a_copy_that_fails_says_why_on_its_page(desk: Desk) -> None:
    desk.get("/exchange")
    page = desk.send("/exchange/in", {}, [("archive", ("a.zip", b"no archive"))])
    assert "That did not work" in words(page)
    assert "that the Copies of another book gave" in words(page)
    assert not [place for place in desk.house.drafts.folder.rglob("a.zip")]  # what was sent does not stay


@pytest.mark.slow
def test_a_big_book_takes_no_more_memory_than_a_small_one(
    tmp_path: Path, workers: Workers, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Out and in an entry at a time: five entries with a photo of 1.5 MB each take what two of them take."""
    monkeypatch.setattr("dampkit.store.archive.analysed_again", lambda *_: Repeated("undecided", ""))
    desk, random = Desk(house_in(tmp_path, workers)), np.random.default_rng(1)
    for n in range(MANY):
        number = kept_entry(desk, serial=f"A-{n}", even_so="1", job="few" if n < FEW else "more")
        data = pack(random.bytes(PHOTO_BYTES))
        with book_at(desk.house.book) as book:
            book.attach(number, Beside((), ((Photo("seal.png", data.sha256, None, "x", now()), data),)))
    peaks = {}
    for entries, said in ((FEW, {"job": "few"}), (MANY, {})):
        place = tmp_path / str(entries)
        place.mkdir()
        works: dict[str, Callable[[], Any]] = {
            "out": partial(write_out, str(place), str(desk.house.book), "a.zip", said),
            "in": partial(read_in, str(place), str(place / "other.sqlite"), "a.zip", "x"),
        }
        for name, work in works.items():
            tracemalloc.start()
            work()
            peaks[name, entries] = tracemalloc.get_traced_memory()[1]
            tracemalloc.stop()
            assert (place / "progress").read_text() == f"{entries} {entries}"
        with book_at(place / "other.sqlite") as book:
            assert len(book.photos(entries)) == 1
    for name in ("out", "in"):
        assert peaks[name, MANY] < peaks[name, FEW] + 0.5 * PHOTO_BYTES, peaks
