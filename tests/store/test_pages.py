"""The pages of a unit's years and of a batch: self-contained, the same twice, and safe to show."""

from __future__ import annotations

import re
import shutil
from itertools import pairwise
from pathlib import Path

import pytest

from dampkit.files import write_text
from dampkit.outcome.workshop import Letterhead
from dampkit.quantities import Estimate
from dampkit.store.batch_page import MOST, write_batch_page
from dampkit.store.bench_page import render_bench
from dampkit.store.benches import bench_state
from dampkit.store.book import book_at
from dampkit.store.history_page import render_history, sentence
from dampkit.store.look_up import history
from dampkit.store.question import Which
from dampkit.store.statistics import shop
from dampkit.store.statistics_page import render_statistics
from dampkit.store.trend import Trend, trend
from dampkit.store.work_page import render_work
from dampkit.store.works import before_after
from tests.store.made import made, new_book
from tests.store.make_first_book import PLACE

HOSTILE = "<script>alert(1)</script>\"'&\u202e" + "x" * 10_000
FIT = {"file": "a.csv", "status": 0, "action": "fit", "serial": "A-1", "faults": "", "suspected": "", "reason": "sound"}
OUTSIDE = re.compile(r"""(?:src|href)\s*=\s*["']?\s*(?:https?:|//)|url\((?!#)|@import""", re.IGNORECASE)


def test_a_history_says_what_the_years_show(tmp_path: Path) -> None:
    with book_at(Path(shutil.copy(PLACE, tmp_path / "b.sqlite"))) as book:
        page = render_history("A-1042", history(book, "A-1042"))
        assert page == render_history("A-1042", history(book, "A-1042"))
    assert "4 tests, 2018-05-02 to 2021-05-02" in page
    assert re.search(r"Friction\.</strong> It rises by 2\.0 N a year \(\S+ to \S+\), from 4 tests", page)
    assert "No change shown over 4 tests" in page
    assert page.count("<svg") == 8
    assert not OUTSIDE.search(page)


@pytest.mark.parametrize(
    ("days", "found", "words"),
    [
        ([], Trend(None), "No test established it."),
        (["2020-01-01"], Trend(None, "tests on at least two days are needed"), "1 test; no trend: tests on at"),
        (["2020-01-01"] * 2, Trend(Estimate(-2.0, -3.0, -1.0)), "It falls by 2.0 N a year (1.0 to 3.0), from 2 tests"),
        (["2020-01-01"] * 2, Trend(Estimate(0.5, -1.0, 2.0)), "No change shown over 2 tests: 0.5"),
    ],
)
def test_the_sentence_about_a_number(days: list[str], found: Trend, words: str) -> None:
    assert sentence("friction_n", days, found).startswith(words)


def test_hostile_text_is_shown_as_text(tmp_path: Path) -> None:
    with new_book(tmp_path) as book:
        book.add(made(serial=HOSTILE, job=HOSTILE))
        write_text(tmp_path / "h.html", render_history(HOSTILE, history(book, HOSTILE)))
    write_batch_page(tmp_path / "b.html", [{**FIT, "serial": HOSTILE, "reason": HOSTILE, "file": HOSTILE}])
    for name in ("h.html", "b.html"):
        text = (tmp_path / name).read_text()
        assert text.count("<script") == (1 if name == "b.html" else 0)
        assert "alert(1)</script" not in text
        assert "&lt;script&gt;" in text
        assert "\u202e" not in text
        assert len(text) < 100_000
        assert not OUTSIDE.search(text)


def test_a_batch_page_puts_first_what_needs_a_hand(tmp_path: Path) -> None:
    bad = {"file": "bad.csv", "status": 3, "error": "bad.csv: no force channel"}
    rebuild = {
        **FIT,
        "file": "r.csv",
        "action": "rebuild",
        "faults": "low_oil",
        "suspected": "bent_rod",
        "serial": None,
    }
    write_batch_page(tmp_path / "b.html", [FIT, rebuild, bad])
    text = (tmp_path / "b.html").read_text()
    assert text.index("no force channel") < text.index("r.csv") < text.index("a.csv")
    for words in ("<b>1</b>not analysed", "Low oil; Bent rod (suspected)", "no serial given", "<title>Bench logs: 3"):
        assert words in text


def test_a_batch_page_of_very_many_stays_small_and_says_so(tmp_path: Path) -> None:
    write_batch_page(tmp_path / "b.html", ({**FIT, "file": f"{n}.csv"} for n in range(MOST + 10)))
    text = (tmp_path / "b.html").read_text()
    assert text.count('scope="row"') == MOST
    assert f"The first {MOST} lines are shown" in text


def test_every_page_has_what_a_reader_needs(tmp_path: Path) -> None:
    write_batch_page(tmp_path / "b.html", [FIT])
    with book_at(Path(shutil.copy(PLACE, tmp_path / "b.sqlite"))) as book:
        pages = [(tmp_path / "b.html").read_text(), render_history("B-7", history(book, "B-7"))]
    for page in pages:
        assert '<html lang="en">' in page
        assert 'name="viewport"' in page
        assert "never a certificate of roadworthiness" in " ".join(page.split())
        levels = [int(level) for level in re.findall(r"<h(\d)", page)]
        assert levels[0] == 1
        assert all(b - a <= 1 for a, b in pairwise(levels))


def test_every_page_has_the_workshop_at_its_head(tmp_path: Path) -> None:
    """Its name, address and mark, as on the page of a result."""
    head = Letterhead("Made-up Works & Sons", ("1 Invented Street",), ("phone 000",), "data:image/png;base64,AAAA")
    write_batch_page(tmp_path / "b.html", [FIT], head=head)
    with new_book(tmp_path) as book:
        book.add(made())
        pages = {
            "batch": (tmp_path / "b.html").read_text(),
            "history": render_history("A-1042", history(book, "A-1042"), head),
            "work": render_work(before_after(book, 1), (), head),
            "statistics": render_statistics(shop(book, Which()), head),
            "bench": render_bench(bench_state(book, "bench 1", "2024-01-01"), (), head),
        }
    for name, page in pages.items():
        for words in ("Made-up Works &amp; Sons", "1 Invented Street", "phone 000", 'src="data:image/png;base64,AAAA"'):
            assert words in page, name
        assert page.index("Made-up Works") < page.index("<h1"), name
        assert "img-src data:" in page, name
        assert 'class="letter"' in page, name


def test_a_trend_needs_its_days_in_order_of_nothing() -> None:
    """The order in which tests are given changes nothing."""
    days, values = ["2020-01-01", "2021-01-01", "2023-01-01"], [Estimate(v, v - 1, v + 1) for v in (1.0, 3.0, 4.0)]
    there, back = trend(days, values).per_year, trend(days[::-1], values[::-1]).per_year
    assert there is not None
    assert back is not None
    assert there.value == pytest.approx(back.value, rel=1e-9)
