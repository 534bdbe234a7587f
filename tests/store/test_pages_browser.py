"""Every page of the book in a real browser: nothing is fetched or cut off, everyone can read it, the head is seen."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from dampkit.outcome.workshop import Letterhead, mark_address
from dampkit.store.bench_page import render_bench
from dampkit.store.benches import add_calibration, add_check, bench_state, checks_of
from dampkit.store.content import pack
from dampkit.store.history_page import render_history
from dampkit.store.look_up import history
from dampkit.store.question import Which
from dampkit.store.record import Beside, Photo
from dampkit.store.statistics import shop
from dampkit.store.statistics_page import render_statistics
from dampkit.store.work_page import photos_of, render_work
from dampkit.store.works import add_work, before_after
from tests.report.browsing import DESK, PHONE, broken_rules, visit
from tests.report.made_up import low_oil, sound
from tests.report.sheets_made_up import png
from tests.store.made import new_book
from tests.store.test_benches import check, sheet
from tests.store.test_works import SHEET, one_test
from tests.store.test_works import sheet as work_sheet

pytestmark = pytest.mark.slow

HEAD = Letterhead("Made-up Damper Works", ("1 Invented Street", "Nowhere"), ("phone 000",), mark_address(png(), "mark"))
NAMES = ("history", "work", "statistics", "bench")


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    place = tmp_path_factory.mktemp("book-pages")
    with new_book(place) as book:
        before = one_test(book, "A-1", "2024-01-01", low_oil())
        photo = pack(png(600))
        kept = Beside(photos=((Photo("piston.png", photo.sha256, None, "made-up fitter", "2024-01-03"), photo),))
        add_work(book, before, work_sheet(SHEET, "2024-01-03"), kept)
        for n in range(5, 15):
            one_test(book, "A-1", f"2024-01-{n:02}", sound())
            add_check(book, "bench 1", check(f"2025-06-{n:02}", 1.0 + 0.1 * n))
        add_calibration(book, "bench 1", sheet(), "made-up fitter")
        shown = before_after(book, before)
        pages = {
            "history": render_history("A-1", history(book, "A-1"), HEAD),
            "work": render_work(shown, photos_of(book, shown), HEAD),
            "statistics": render_statistics(shop(book, Which("12-34")), HEAD),
            "bench": render_bench(bench_state(book, "bench 1", "2025-07-01"), checks_of(book, "bench 1"), HEAD),
        }
    for name, page in pages.items():
        (place / f"{name}.html").write_text(page, encoding="utf-8")
    return place


@pytest.mark.parametrize("name", NAMES)
def test_a_page_asks_for_nothing_and_shows_its_head(browser: Any, folder: Path, name: str) -> None:
    place = folder / f"{name}.html"
    for size in (PHONE, DESK):
        with visit(browser, place, size) as seen:
            assert not seen.too_wide()
            assert seen.asked == [place.as_uri()]
            assert seen.said == []
            assert seen.page.locator(".letter").inner_text().startswith("Made-up Damper Works")
            drawn = seen.page.evaluate("[...document.images].map(image => image.naturalWidth > 0)")
            assert drawn == [True] * (2 if name == "work" else 1)


@pytest.mark.parametrize("name", NAMES)
def test_axe_finds_nothing_against_the_guidelines(browser: Any, axe: str, folder: Path, name: str) -> None:
    with visit(browser, folder / f"{name}.html") as seen:
        assert broken_rules(seen, axe) == []
