"""Several tests side by side on the page give what the same records give without it."""

from __future__ import annotations

import re

import pytest

import dampkit
from dampkit.store.book import book_at
from tests.app.serve.desk import Desk, words

SPEEDS = (0.05, 0.1, 0.3, 0.6)
REBOUND, COMPRESSION = (180, 420, 980, 1400), (150, 300, 520, 700)
DAMPER = '[damper]\nserial = "{}"\nkind = "twin-tube"\n'


def table(share: float = 1.0) -> bytes:
    """A made-up unit whose rebound is a share of another's."""
    rows = [f"{v},{share * r:.1f},{c}" for v, r, c in zip(SPEEDS, REBOUND, COMPRESSION, strict=True)]
    return "\n".join(["velocity m/s,rebound N,compression N", *rows]).encode()


def begun(desk: Desk, **shares: float) -> str:
    desk.get("/")
    files = [("records", (f"{name}.csv", table(share) + b"\n" * n)) for n, (name, share) in enumerate(shares.items())]
    return desk.post("/begin", {}, files).headers["location"].removesuffix("/record")


@pytest.mark.parametrize("share", [1.0, 0.6])
def test_a_left_and_a_right_unit(desk: Desk, share: float) -> None:
    work = begun(desk, left=1.0, right=share)
    assert "side by side" in desk.get(f"{work}/record").text
    page = desk.send(f"{work}/side-by-side", {"kind": "pair"}).text
    (alone,) = dampkit.compare([dampkit.read_test([table()]), dampkit.read_test([table(share) + b"\n"])]).answers
    (shown,) = re.findall(r'<h2 id="verdict"><span class="quiet">Answer</span> (.*?)</h2>', page)
    assert shown.lower() == {"out": "not matched", "not established": "not established"}[alone]
    assert (alone == "out") is (share == 0.6)


def test_the_settings_of_an_adjuster_are_taken_from_the_names_or_typed(desk: Desk) -> None:
    work = begun(desk, click0=1.0, click4=0.8, end=0.6)
    asked = desk.get(f"{work}/side-by-side")
    assert 'value="4"' in asked.text
    first = words(desk.send(f"{work}/side-by-side", {"kind": "settings"}))
    assert "end.csv: its setting is empty" in first
    (draft,) = desk.house.drafts.all()
    typed = {f"at-{draft.records[-1].sha256}": "8"}
    assert 'id="verdict"' in desk.send(f"{work}/side-by-side", {"kind": "settings", **typed}).text
    assert 'value="8"' in desk.get(f"{work}/side-by-side").text


def test_entries_of_the_book_before_and_after(desk: Desk) -> None:
    """Each with what was declared for it then; the first named is the one before."""
    for name, share in (("before", 0.6), ("after", 1.0)):
        work = begun(desk, **{name: share})
        desk.send(f"{work}/unit", {"damper.serial": "A-1", "damper.kind": "twin-tube", "go": "on"})
        desk.get(f"{work}/verdict")
        desk.post(f"{work}/keep", {"go": "keep"})
    desk.get("/unit?serial=A-1")
    page = desk.send("/side-by-side", {"entries": "1 2", "kind": "before-after"})
    assert "changed" in words(page).lower()
    assert "before" in words(page)
    (draft,) = desk.house.drafts.all()
    with book_at(desk.house.book) as book:
        assert draft.base[f"{draft.records[0].sha256}/damper"] == book.settings(1).damper
    for wrong in ("1", "1 1", "x"):
        assert desk.send("/side-by-side", {"entries": wrong, "kind": "pair"}).status_code == 422
    assert desk.send("/side-by-side", {"entries": "1 7", "kind": "pair"}).status_code == 422
    assert len(desk.house.drafts.all()) == 1


def test_more_than_two_before_and_after_are_refused_and_kept(desk: Desk) -> None:
    work = begun(desk, one=1.0, two=0.8, three=0.6)
    page = words(desk.send(f"{work}/side-by-side", {"kind": "before-after"}))
    assert "two logs: before, then after" in page
    assert len(desk.house.drafts.all()[0].records) == 3
