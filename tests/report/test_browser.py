"""Every kind of page in a real browser: nothing is fetched, nothing fails, nothing is cut off, everyone can read it."""

from __future__ import annotations

import shutil
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from dampkit.report.document import ALONE, SHARED_LIBRARY, Look, write_library
from dampkit.report.figure_file import thumbnail
from dampkit.report.page import render
from dampkit.report.pair_page import render_pair
from dampkit.store.batch_page import write_batch_page
from tests.report.browsing import DESK, PHONE, broken_rules, sides_of, visit
from tests.report.made_up import ALL, low_oil, sound
from tests.report.side_by_side import choice_page, runs
from tests.report.test_hostile import HOSTILE, poisoned
from tests.report.test_page import SECTIONS

pytestmark = pytest.mark.slow

SHARED = Look(library=SHARED_LIBRARY)
PAIR = ("Each by itself", "Differences", "Loops: force against displacement", "How far to trust the data", "Cautions")
PAGES: dict[str, Callable[[Look], str]] = {
    **{name: lambda look, make=make: render(make(), look) for name, make in ALL.items()},  # type: ignore[misc]
    "imperial": lambda look: render(sound(), replace(look, imperial=True)),
    "pair": lambda look: render_pair(runs("pair"), look),
    "before and after": lambda look: render_pair(runs("before-after"), look),
    "several": lambda look: render_pair(runs("batch"), look),
    "settings": choice_page,
}
ONE_UNIT = [*ALL, "imperial"]
HEADINGS = {
    **dict.fromkeys(ONE_UNIT, SECTIONS),
    **dict.fromkeys(("pair", "before and after", "several"), PAIR),
    "settings": ("What each setting does", "Settings compared", "Cautions"),
}
ROW = {"file": "a.csv", "status": 0, "action": "fit", "serial": "A-1", "faults": "", "suspected": "", "key": "k"}


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Every page by its name, alone and (quicker to open) in a folder that shares the plot library; a batch's index."""
    place = tmp_path_factory.mktemp("pages")
    (place / "alone").mkdir()
    for name, make in PAGES.items():
        (place / "alone" / f"{name}.html").write_text(make(ALONE), encoding="utf-8")
        (place / f"{name}.html").write_text(make(SHARED), encoding="utf-8")
    write_library(place)
    rows = [{**ROW, "reason": "sound"}, {**ROW, "action": "rebuild", "faults": "low_oil", "reason": "oil"}]
    rows.append({"file": "bad.csv", "status": 3, "error": "no force channel"})
    write_batch_page(place / "batch.html", rows, linked=False, stamp=lambda key: thumbnail(low_oil()))
    shutil.copy(place / "batch.html", place / "alone")
    return place


@pytest.mark.parametrize("name", [*PAGES, "batch"])
def test_page_asks_for_nothing_complains_of_nothing_and_is_not_too_wide(browser: Any, folder: Path, name: str) -> None:
    place = folder / "alone" / f"{name}.html"
    with visit(browser, place, PHONE) as seen:
        assert not seen.too_wide()
        for button in seen.page.locator("button.zoom").all():
            button.click()
        assert seen.page.locator(".js-plotly-plot .main-svg").count() >= (0 if name in ("batch", "empty") else 1)
        assert not seen.too_wide()
        seen.page.set_viewport_size({"width": DESK[0], "height": DESK[1]})
        assert not seen.too_wide()
        assert seen.asked == [place.as_uri()]
        assert seen.said == []


@pytest.mark.parametrize("name", list(PAGES))
def test_every_section_is_there_with_and_without_scripts(browser: Any, folder: Path, name: str) -> None:
    for scripts in (True, False):
        with visit(browser, folder / f"{name}.html", java_script_enabled=scripts) as seen:
            headings = seen.headings()
            assert [title for title in headings if title in HEADINGS[name]] == list(HEADINGS[name])
            drawn = seen.page.locator("svg.plot")
            assert all(picture.is_visible() for picture in drawn.all() if not picture.locator("..").is_hidden())
            assert drawn.count() >= (0 if name == "empty" else 1)
            assert seen.page.locator("table").count() >= 2
            assert seen.page.locator("button:visible").count() == 0 or scripts
            assert "None" not in seen.page.locator("body").inner_text()


def test_first_screen_of_a_phone_holds_unit_verdict_reasons_next_step_and_the_picture(
    browser: Any, folder: Path
) -> None:
    for name in ALL:
        with visit(browser, folder / f"{name}.html", PHONE) as seen:
            for what in ("h1", "#verdict", ".reasons", ".next"):
                box = seen.page.locator(what).first.bounding_box()
                assert box["y"] + box["height"] <= PHONE[1], (name, what)
            picture = seen.page.locator(".picture svg.plot")
            if picture.count():
                assert picture.first.bounding_box()["y"] < PHONE[1] - 150


@pytest.mark.parametrize("name", [*PAGES, "batch"])
def test_axe_finds_nothing_against_the_guidelines(browser: Any, axe: str, folder: Path, name: str) -> None:
    with visit(browser, folder / f"{name}.html") as seen:
        assert broken_rules(seen, axe) == []


def test_axe_does_find_what_is_wrong(browser: Any, axe: str, tmp_path: Path) -> None:
    """A page with faint text, a picture without words and no language: the check above would notice."""
    (tmp_path / "bad.html").write_text("<title>x</title><main><p style='color:#ccc'>faint</p><img src='data:,'></main>")
    with visit(browser, tmp_path / "bad.html") as seen:
        seen.page.evaluate(axe)
        found = seen.page.evaluate("axe.run(document)")
    assert {"color-contrast", "image-alt", "html-has-lang"} <= {v["id"] for v in found["violations"]}


@pytest.mark.parametrize("name", ["sound", "low oil", "unclear", "pair", "before and after", "settings"])
def test_prints_on_few_sides(browser: Any, folder: Path, name: str) -> None:
    with visit(browser, folder / f"{name}.html") as seen:
        for paper in ("A4", "Letter"):
            assert (2 if name in ("sound", "low oil") else 1) <= sides_of(seen.page, paper) <= 4


def test_keyboard_reaches_the_details_first(browser: Any, folder: Path) -> None:
    with visit(browser, folder / "sound.html") as seen:
        seen.page.keyboard.press("Tab")
        assert seen.page.evaluate("document.activeElement.textContent") == "Skip to the details"
        seen.page.keyboard.press("Enter")
        assert seen.page.evaluate("location.hash") == "#details"


def test_folded_parts_open_at_once(browser: Any, folder: Path) -> None:
    with visit(browser, folder / "sound.html") as seen:
        assert seen.page.locator("details:not([open])").count() > 3
        seen.page.click("#open-all")
        assert seen.page.locator("details:not([open])").count() == 0


def test_pages_of_a_folder_share_one_library(browser: Any, tmp_path: Path) -> None:
    place = tmp_path / "a.html"
    place.write_text(render(sound(), SHARED), encoding="utf-8")
    with visit(browser, place) as seen:
        seen.page.locator("button.zoom").first.click()
        seen.page.locator("button.zoom:disabled").wait_for()
        assert "is not beside this page" in seen.page.locator("button.zoom").first.inner_text()
    write_library(tmp_path)
    with visit(browser, place) as seen:
        assert seen.asked == [place.as_uri()]
        for button in seen.page.locator("button.zoom").all():
            button.click()
        seen.page.locator(".js-plotly-plot").nth(2).wait_for()
        assert set(seen.asked) == {place.as_uri(), (tmp_path / SHARED_LIBRARY).as_uri()}
        assert seen.said == []


def test_a_batch_is_filtered_by_what_to_do_and_by_words(browser: Any, folder: Path) -> None:
    with visit(browser, folder / "batch.html") as seen:
        lines = seen.page.locator("tbody tr:visible")
        assert lines.count() == 3
        seen.page.uncheck("input[value=fit]")
        assert lines.count() == 2
        seen.page.fill("#words", "low OIL")
        assert lines.count() == 1
        assert "1 of 3" in seen.page.locator("#shown").inner_text()
    with visit(browser, folder / "batch.html", java_script_enabled=False) as seen:
        assert seen.page.locator("tbody tr:visible").count() == 3
        assert not seen.page.locator("#filters").is_visible()


@pytest.mark.parametrize(
    "text", [*HOSTILE[1:3], HOSTILE[5], HOSTILE[7], "<img src=x onerror=\"document.title='taken'\">"]
)
def test_foreign_text_runs_no_script_and_shows_as_text(browser: Any, tmp_path: Path, text: str) -> None:
    write_library(tmp_path)
    attack = text + "<script>document.title='taken'</script>"
    rows = [{**ROW, "serial": attack, "reason": attack, "file": attack, "faults": attack, "action": "fit"}]
    write_batch_page(tmp_path / "batch.html", rows, stamp=lambda key: thumbnail(poisoned(sound(), attack)))
    (tmp_path / "unit.html").write_text(render(poisoned(low_oil(), attack), SHARED), encoding="utf-8")
    (tmp_path / "pair.html").write_text(render_pair(runs("pair", (attack, "other")), SHARED), encoding="utf-8")
    (tmp_path / "settings.html").write_text(choice_page(SHARED, attack), encoding="utf-8")
    for name in ("unit", "pair", "settings", "batch"):
        place = tmp_path / f"{name}.html"
        with visit(browser, place, PHONE) as seen:
            for button in seen.page.locator("button.zoom").all():
                button.click()
            if name != "batch":
                seen.page.locator(".js-plotly-plot").first.wait_for()
            assert seen.page.title() != "taken", name
            assert set(seen.asked) <= {place.as_uri(), (tmp_path / SHARED_LIBRARY).as_uri()}, name
            assert seen.said == [], name
            assert not seen.too_wide(), name
