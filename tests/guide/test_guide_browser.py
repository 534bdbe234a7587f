"""The guide's page in a real browser: readable without scripts, filtered with them, within the guidelines."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from dampkit.guide.page import guide_page
from dampkit.guide.topics import NAMES
from tests.report.browsing import DESK, PHONE, broken_rules, visit

pytestmark = pytest.mark.slow


@pytest.fixture(scope="module")
def page(tmp_path_factory: pytest.TempPathFactory) -> Path:
    place = tmp_path_factory.mktemp("guide") / "guide.html"
    place.write_text(guide_page(), encoding="utf-8")
    return place


def test_without_scripts_every_topic_is_there_and_nothing_is_too_wide(browser: Any, page: Path) -> None:
    for size in (PHONE, DESK):
        with visit(browser, page, size, java_script_enabled=False) as seen:
            assert seen.page.locator("main > section:visible").count() == len(NAMES)
            assert not seen.page.locator("#search").is_visible()
        with visit(browser, page, size) as seen:
            assert not seen.too_wide()
            assert (seen.asked, seen.said) == ([page.as_uri()], [])


def test_words_filter_topics_contents_and_keys(browser: Any, page: Path) -> None:
    with visit(browser, page) as seen:
        seen.page.fill("#search", "Rod_Diameter")
        shown = seen.page.locator("main > section:visible")
        assert 0 < shown.count() < len(NAMES)
        assert seen.page.locator(".contents li:visible").count() == shown.count()
        keys = seen.page.locator("#keys-damper li:visible")
        assert keys.count() > 0
        assert all("rod_diameter" in text for text in keys.all_inner_texts())
        seen.page.fill("#search", "no such word")
        assert shown.count() == 0
        assert "another word" in seen.page.inner_text("#found")
        seen.page.fill("#search", "")
        assert shown.count() == len(NAMES)


def test_a_link_opens_the_folded_topic_it_leads_to(browser: Any, page: Path) -> None:
    with visit(browser, page) as seen:
        assert not seen.page.locator("#fault-codes--low_oil").is_visible()
        seen.page.click(".contents a[href='#fault-codes']")
        assert seen.page.locator("#fault-codes--low_oil").is_visible()


def test_axe_finds_nothing_against_the_guidelines(browser: Any, axe: str, page: Path) -> None:
    with visit(browser, page) as seen:
        assert broken_rules(seen, axe) == []
