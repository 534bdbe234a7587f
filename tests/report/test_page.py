"""The page as a whole: what stands in it for each kind of result, and that it needs nothing but itself."""

from __future__ import annotations

import itertools
import re
from collections.abc import Callable
from pathlib import Path

import pytest

from dampkit.errors import BadSettings
from dampkit.outcome.result import Result
from dampkit.report.document import Look
from dampkit.report.page import render, write_report
from tests.cost import calls
from tests.report.made_up import ALL, empty, low_oil, sound, suspected, unclear
from tests.report.reading import Page, without_library

SECTIONS = (
    "For the owner of the car",
    "Faults",
    "What this test covered",
    "What was asked of it",
    "What to change",
    "Against the vehicle",
    "Against the known-good unit",
    "Forces by speed",
    "Loops: force against displacement",
    "Valve, friction and gas",
    "How far to trust the data",
    "What was left out, and why",
    "Cautions",
    "How this was worked out",
    "Words",
)


def page(make: Callable[[], Result]) -> Page:
    return Page(without_library(render(make())))


@pytest.fixture(params=list(ALL))
def any_page(request: pytest.FixtureRequest) -> Page:
    return page(ALL[request.param])


def test_every_section_stands_in_every_page(any_page: Page) -> None:
    titles = [text.strip() for level, text in any_page.headings if level == 2]
    assert [title for title in titles if not title.startswith("Verdict")] == list(SECTIONS)


@pytest.mark.parametrize(("make", "said"), [(low_oil, True), (suspected, True), (empty, False)])
def test_a_fault_is_put_right_before_anything_is_changed(make: Callable[[], Result], said: bool) -> None:
    result = make()
    assert result.advice is None
    assert ("Nothing is changed in a unit with a fault" in render(result)) is said


def test_headings_never_skip_a_level(any_page: Page) -> None:
    levels = [level for level, _ in any_page.headings]
    assert levels[0] == 1
    assert levels.count(1) == 1
    assert all(after - before <= 1 for before, after in itertools.pairwise(levels))


def test_markup_is_well_nested_and_ids_are_unique(any_page: Page) -> None:
    ids = any_page.attribute("id")
    assert any_page.misnested == []
    assert any_page.open_tags == []
    assert len(ids) == len(set(ids))


def test_every_reference_to_an_id_finds_it(any_page: Page) -> None:
    wanted = {link[1:] for link in any_page.attribute("href")}
    wanted |= {name for names in any_page.attribute("aria-labelledby") for name in names.split()}
    wanted |= set(re.findall(r"url\(#([\w-]+)\)", any_page.source))
    assert wanted <= set(any_page.attribute("id"))


def test_nothing_is_fetched_from_anywhere(any_page: Page) -> None:
    assert any_page.attribute("src") == []
    assert all(link.startswith("#") for link in any_page.attribute("href"))
    assert any_page.count("link") == 0
    assert "@import" not in any_page.source
    assert all(target.startswith("#") for target in re.findall(r"url\(\s*['\"]?(.)", any_page.source))
    policy = next(
        a["content"] for t, a in any_page.tags if t == "meta" and a.get("http-equiv") == "Content-Security-Policy"
    )
    assert policy is not None
    assert policy.startswith("default-src 'none'")


def test_language_title_and_viewport_are_declared(any_page: Page) -> None:
    assert any_page.tags[0] == ("html", {"lang": "en"})
    assert "bench report" in any_page.text
    assert any(attributes.get("name") == "viewport" for tag, attributes in any_page.tags if tag == "meta")


def test_tables_name_their_rows_and_columns_and_pictures_have_words(any_page: Page) -> None:
    assert all(
        attributes.get("scope") in ("row", "col", "rowgroup") for tag, attributes in any_page.tags if tag == "th"
    )
    assert any_page.count("caption") == any_page.count("table")
    drawn = [attributes for tag, attributes in any_page.tags if tag == "svg" and attributes.get("class") == "plot"]
    assert all(attributes["role"] == "img" and attributes["aria-labelledby"] for attributes in drawn)


def test_every_page_says_what_it_is_not_and_names_the_dangers(any_page: Page) -> None:
    for said in (
        "never a roadworthiness certificate",
        "maker's data, local codes and licensed practice come first",
        "gas",
        "asbestos",
        "ejection",
        "fluid injection",
        "licensed disposal",
        "Stored spring energy",
    ):
        assert said in any_page.text


@pytest.mark.parametrize("name", list(ALL))
def test_verdict_reasons_and_next_step_are_printed(name: str) -> None:
    verdict, shown = ALL[name]().verdict, page(ALL[name]).text
    assert verdict.action.capitalize() in shown
    assert all(" ".join(text.split()) in shown for text in (*verdict.reasons, verdict.next_step))


def test_first_screen_comes_before_the_details() -> None:
    html = without_library(render(sound()))
    spots = [
        html.index(text) for text in ("A-1042", "Verdict", "Why", "What to do next", 'id="force-still"', 'id="faults"')
    ]
    assert spots[0] < spots[1] < spots[2] < spots[3] < spots[4] < spots[5]


def test_only_three_reasons_are_on_the_first_screen() -> None:
    html = render(low_oil())
    third, fourth = (html.index(f"<li>{reason}</li>") for reason in low_oil().verdict.reasons[2:])
    assert third < html.rindex("<details>", 0, fourth)


def test_what_is_missing_is_called_not_established_and_never_none() -> None:
    shown = page(unclear)
    assert shown.text.count("not established") >= 10
    assert not re.search(r"\bNone\b|\bnan\b|\bnull\b", shown.text)
    assert "no serial given" in shown.text


@pytest.mark.parametrize("name", list(ALL))
def test_every_entry_about_the_data_is_printed_worst_first(name: str) -> None:
    shown, result = page(ALL[name]).text, ALL[name]()
    spots = {entry.code: shown.index(entry.message) for entry in result.quality}
    worst_first = sorted(result.quality, key=lambda entry: ("bad", "warning", "note").index(entry.severity))
    assert [entry.code for entry in worst_first] == sorted(spots, key=lambda code: spots[code])
    assert all(item in shown for item in result.left_out)


def test_fault_evidence_stands_with_value_limit_and_basis() -> None:
    shown = page(low_oil).text
    for said in (
        "lost motion entering compression, slow stages, play taken off; of a twin tube the travel that its gas takes up 8.0 mm (7.6 to 8.4) 3 mm common practice, no source",
        "Found, 96 % sure",
    ):
        assert said in shown


def test_reference_answers_are_printed_as_stored() -> None:
    good, bad = page(sound).text, page(low_oil).text
    assert good.count("0.1 m/s in ") == 2
    assert bad.count("0.1 m/s out ") == 2


def test_sources_are_printed_in_full() -> None:
    shown = page(sound).text
    assert "Merritt" in shown
    assert "merritt1967" not in shown


def test_plot_library_is_in_the_page_once_and_inert() -> None:
    from plotly.offline import get_plotlyjs

    html, library = render(sound()), get_plotlyjs()
    assert html.count(library[:2000]) == 1
    assert html.count("plotly.js v") == library.count("plotly.js v")
    holders = [attributes for attributes, text in Page(html).scripts if len(text) > 1_000_000]
    assert holders == [{"type": "text/plain", "id": "plot-library"}]


def test_two_renderings_are_the_same_bytes_from_object_or_dictionary() -> None:
    assert render(sound()) == render(sound().to_dict())


def test_imperial_stands_beside_si_only_on_request() -> None:
    assert "lbf" not in without_library(render(sound()))
    assert "lbf" in without_library(render(sound(), Look(imperial=True)))


def test_page_is_small_and_takes_few_calls() -> None:
    """32 thousand calls when written, some hundredths of a second."""
    html = render(sound())
    assert len(html.encode()) < 6_000_000
    assert calls(lambda: render(sound())) < 100_000


def test_page_is_written_whole_and_leaves_no_neighbour(tmp_path: Path) -> None:
    place = write_report(low_oil(), tmp_path / "page.html")
    assert place.read_bytes() == render(low_oil()).encode()
    assert [path.name for path in tmp_path.iterdir()] == ["page.html"]


def test_page_that_cannot_be_written_is_refused_in_words(tmp_path: Path) -> None:
    with pytest.raises(BadSettings, match="cannot be written"):
        write_report(sound(), tmp_path / "no such folder" / "page.html")
    (tmp_path / "folder").mkdir()
    with pytest.raises(BadSettings, match="cannot be written"):
        write_report(sound(), tmp_path / "folder")
    assert [path.name for path in tmp_path.iterdir()] == ["folder"]


def test_dictionary_that_is_no_result_is_refused_with_its_key() -> None:
    broken = sound().to_dict()
    broken["run"]["rows_used"] = "many"
    with pytest.raises(BadSettings, match=r"run\.rows_used"):
        render(broken)
