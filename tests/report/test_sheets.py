"""The printed sheets: one side each, nothing in the customer's words that a customer has to look up, no bare number."""

from __future__ import annotations

import io
import re
from pathlib import Path
from typing import Any

import pypdf
import pytest

import dampkit
from dampkit.analyse import analyse_job
from dampkit.job import JobFiles
from dampkit.outcome.about import with_about
from dampkit.outcome.about_record import AboutRecord
from dampkit.outcome.decision_record import OilRecord
from dampkit.outcome.ground import REMEDIES
from dampkit.outcome.result import Result
from dampkit.report import customer_words as words
from dampkit.report import fault_words
from dampkit.report.customer_sheet import customer_sheet
from dampkit.report.document import SHARED_LIBRARY, Look, page_text
from dampkit.report.earlier import Earlier
from dampkit.report.faults_told import TOLD
from dampkit.report.mechanic_sheet import mechanic_sheet
from dampkit.report.numbers import Writer
from dampkit.report.sheets import render_sheets, sheet_view
from dampkit.virtual.samples import POINT_SAMPLES, SAMPLES
from tests.report.browsing import DESK, PHONE, broken_rules, sides_of, visit
from tests.report.made_up import ALL, around, low_oil, sound
from tests.report.sheets_made_up import SAID, WORKSHOP, every, ground_keys
from tests.report.test_hostile import HOSTILE, poisoned

SAMPLE_RUNS = Path(__file__).parents[2] / "sample_runs"
BROKEN = "broken_log"  # made to be refused
# Words that a customer would have to look up; of the trade and of this package
JARGON = (
    "bleed", "blow-off", "blowoff", "hysteresis", "lag", "estimate", "interval", "coverage", "leak coefficient", "rebound",
    "compression", "bump stop", "knee", "loop", "damping ratio", "coefficient", "stage", "lost motion", "aerat", "foot valve",
    "piston", "gland", "shim", "preload", "reference", "verdict", "window", "tolerance", "retest", "not established", "established",
    "sprung", "valve seat", "series", "motion ratio", "cavitation", "gas force", "channel", "sensor", "cell", "clevis", "toml",
    "dampkit", "unit", "stroke", "cycle", "breakaway", "sliding", "fade", "likelihood", "probability", "hertz", "monotube",
    "twin-tube", "strut bearing", "not compared", "too close to call",
)  # fmt: skip
ALLOWED = ("slow strokes",)  # of moving a damper by hand
UNITS = r"N|mm|m/s|%|bar|°C|lbf|in|in/s|°F|kgf|N m|lb ft|ml"
BARE = re.compile(rf"\d[\d.,]*(?!\s*(?:{UNITS})(?![A-Za-z]))(?![\d.,])(?! to \d[\d.,]*\s*(?:{UNITS})(?![A-Za-z]))")
LOOK = Look(library=SHARED_LIBRARY, letterhead=WORKSHOP)
EARLIER = Earlier(
    low_oil(), "2024-05-01", ("new: rod seal, guide bush, foot valve", "oil: 245 ml, light (made up)"), "2024-05-03"
)


def said(result: Result, earlier: Earlier | None = None, imperial: bool = False) -> str:
    """All words of the customer's side that the program chose, without the head and the names that people gave."""
    sheet = customer_sheet(result, Writer(imperial), earlier)
    changes = [text for change in sheet.changes for text in (change.what, change.before, change.after)]
    lines = (sheet.headline, sheet.sentence, *sheet.found, *sheet.open, *sheet.done, *changes, *sheet.cautions)
    return "\n".join(lines)


def jargon(text: str) -> list[str]:
    plain = text.lower()
    for phrase in ALLOWED:
        plain = plain.replace(phrase, "")
    return [word for word in JARGON if re.search(rf"\b{re.escape(word)}", plain)]


def bare_numbers(text: str) -> list[str]:
    return [text[max(0, found.start() - 20) : found.end() + 12] for found in BARE.finditer(text)]


def test_the_checks_of_words_do_find_what_is_wrong() -> None:
    assert jargon("The bleed passes 2 N at the knee, in rebound.") == ["bleed", "rebound", "knee"]
    assert bare_numbers("It reads 713 N at 0.1 m/s") == []
    assert bare_numbers("right would be 200 to 270\u00a0N [45 to 61 lbf]") == []
    assert len(bare_numbers("a ratio of 0.41 is wanted, 3 of them, 12.5")) == 3


def test_no_made_up_sheet_has_jargon_or_a_bare_number_or_says_nothing() -> None:
    wrong = {}
    for name, result in [*every(), *((name, make()) for name, make in ALL.items())]:
        for imperial in (False, True):
            text = said(result, imperial=imperial)
            if found := [*jargon(text), *bare_numbers(text)]:
                wrong[name] = found
            assert "{" not in text, name
    assert not wrong


def test_every_fault_step_and_answer_has_plain_words() -> None:
    parts_of_sentences = {"change", "hole_last", "or_another", "cover_listed"}
    assert set(TOLD) == set(REMEDIES)
    assert set(words.SEEN) == set(fault_words.SEEN)
    steps = {step if step in words.DONE else step.partition(":")[0] for step in fault_words.STEPS}
    assert steps - parts_of_sentences <= set(words.DONE)
    fault = {"fault", "fault_clouded", "suspected", "not_judged_yet", "seen", "asked_out", "ratio_out"}
    silent = {"not_looked_for", "hand_check", "gas_about"}  # said by what was not looked for; of no use to a customer
    assert set(ground_keys()) - fault - silent <= set(words.FOUND) | set(words.OPEN)


def test_what_a_suspicion_and_a_hidden_fault_say_is_not_said_as_found() -> None:
    named = dict(every())
    text = said(named["ground suspected"])
    assert "We suspect, but are not sure: it has lost oil." in text
    assert "is not certain until the rest is put right: it catches" in said(named["rebuild low_oil"])


def test_no_answer_and_not_tested_are_never_said_as_a_pass() -> None:
    for name, result in every():
        if result.verdict.action != "fit":
            text = said(result)
            assert "may go on the car" not in text.split("\n")[0] or result.verdict.step.endswith("_then_fit"), name
            assert "Do not drive with a damper that we have not released" in text
    text = said(dict(every())["nothing looked for"])
    assert "whether it suits this car" in text
    assert words.OPEN_MORE in text


def test_what_eyes_have_answered_is_not_called_unknown() -> None:
    assert "whether its rod is straight" not in said(dict(every())["nothing looked for"])


def test_before_and_after_stand_side_by_side() -> None:
    text = said(with_about(sound(), None, SAID), EARLIER)
    assert "Force when pulled out, at 0.3\u00a0m/s" in text
    assert not bare_numbers(text)
    page = render_sheets(sound(), Look(library=SHARED_LIBRARY), EARLIER)
    assert "Before and after the work" in page
    assert "new: rod seal" in page
    assert "Before and after the work" not in render_sheets(sound(), Look(library=SHARED_LIBRARY))


def test_every_sheet_says_whose_unit_it_is_and_who_checked_it() -> None:
    page = render_sheets(with_about(sound(), "A-1", SAID), Look(library=SHARED_LIBRARY, letterhead=WORKSHOP))
    customer, _, rest = page.partition('class="sheet mechanic"')
    mechanic, _, evidence = rest.partition("<header>")
    for part in (customer, mechanic, evidence):
        for words_ in (
            "Made-up Damper Works",
            "A-1",
            "customer 77",
            "2024-05-31",
            "14:05",
            "made-up fitter",
            "blue estate",
        ):
            assert words_ in part
        assert "made-up foreman, 2024-06-01" in part
    stale = SAID.model_copy(update={"check_stands": False})
    assert render_sheets(with_about(sound(), "A-1", stale)).count("signed before the change") >= 3
    assert "not yet" in render_sheets(sound())


def test_the_side_to_work_by_has_steps_to_tick_apart_from_figures() -> None:
    oil = OilRecord(gas_in_chamber_ml=around(6.0), uncovers_at_mm=12.0, missing_ml=None, missing_is=None)
    sheet = mechanic_sheet(low_oil().model_copy(update={"oil": oil}), Writer())
    assert sheet.to_do[0].startswith("Find the leak, renew the seals")
    assert any("of gas: that is what one stroke drew in" in line for line in sheet.figures)
    assert not set(sheet.to_do) & set(sheet.figures)
    assert 1 <= len(sheet.evidence) <= 3
    assert sheet.next_test[0].startswith("5 cycles at 0.05\u00a0m/s, stroke 50\u00a0mm")


@pytest.mark.parametrize("text", HOSTILE)
def test_foreign_text_is_only_text(text: str) -> None:
    about = AboutRecord(job=text, customer=text, by=text, checked_by=text)
    page = render_sheets(with_about(Result.read(poisoned(low_oil(), text)), text, about), Look(library=SHARED_LIBRARY))
    assert page.count("<script") == render_sheets(low_oil(), Look(library=SHARED_LIBRARY)).count("<script")


def many(results: list[Result], kind: str) -> str:
    """The sheets of one kind below one another."""
    whole = render_sheets(results[0], LOOK)
    sheets = [page_text(f"sheet_{kind}.html", LOOK, (), sheet_view(result, LOOK, EARLIER)) for result in results]
    return whole[: whole.index("<article")] + "".join(sheets) + "</body></html>"


def check_one_side_each(browser: Any, place: Path, made: dict[str, Result]) -> None:
    """As many printed sides as sheets, each of which ends its side; where there are more, the longest is named."""
    for kind in ("customer", "mechanic"):
        place.write_text(many(list(made.values()), kind), encoding="utf-8")
        with visit(browser, place) as seen:
            seen.page.emulate_media(media="print")
            seen.page.set_viewport_size({"width": 725, "height": 1050})
            heights = [sheet.bounding_box()["height"] for sheet in seen.page.locator(".sheet").all()]
            sides = sides_of(seen.page, "A4")
        assert sides == len(made), (kind, max(zip(heights, made, strict=True)))


@pytest.mark.slow
def test_every_made_up_sheet_is_one_printed_side(browser: Any, tmp_path: Path) -> None:
    made = dict(every())
    check_one_side_each(browser, tmp_path / "made.html", made)


@pytest.mark.slow
def test_the_sheets_of_every_sample_run(browser: Any, tmp_path: Path) -> None:
    """In plain words, with units, each on one printed side."""
    logs = {name: files for name, files in logs_in(SAMPLE_RUNS).items() if name != BROKEN}
    assert {*(s.name for s in SAMPLES), *(s.name for s in POINT_SAMPLES)} - {BROKEN} <= set(logs)
    results = {name: with_about(analysed(files), None, SAID) for name, files in logs.items()}
    wrong = {name: found for name, r in results.items() if (found := [*jargon(said(r)), *bare_numbers(said(r))])}
    assert not wrong
    check_one_side_each(browser, tmp_path / "samples.html", results)


def logs_in(folder: Path) -> dict[str, list[Path]]:
    """The records of the folder by their name without its number, which joins those of one test."""
    found: dict[str, list[Path]] = {}
    for log in sorted(each for each in folder.iterdir() if each.suffix != ".toml"):
        found.setdefault(re.sub(r"_\d+$", "", log.name.partition(".")[0]), []).append(log)
    return found


def analysed(logs: list[Path]) -> Result:
    name = re.sub(r"_\d+$", "", logs[0].name.partition(".")[0])
    job = JobFiles().beside(logs[0].with_name(f"{name}.csv")).load()
    return analyse_job(dampkit.read_test(logs, job.bench), job)


@pytest.mark.slow
@pytest.mark.parametrize("name", list(ALL))
def test_all_in_one_customer_first_then_mechanic_then_evidence(browser: Any, tmp_path: Path, name: str) -> None:
    place = tmp_path / "sheets.html"
    place.write_text(render_sheets(ALL[name](), Look(library=SHARED_LIBRARY)), encoding="utf-8")
    with visit(browser, place, PHONE) as seen:
        assert not seen.too_wide()
        seen.page.set_viewport_size({"width": DESK[0], "height": DESK[1]})
        assert not seen.too_wide()
        assert seen.said == []
        sides = [side.extract_text() for side in pypdf.PdfReader(io.BytesIO(seen.page.pdf(format="A4"))).pages]
    for n, words_ in enumerate(("Your damper", "Work sheet", "Damper bench report")):
        assert [i for i, text in enumerate(sides) if words_ in text] == [n]


@pytest.mark.slow
def test_axe_finds_nothing_against_the_guidelines(browser: Any, axe: str, tmp_path: Path) -> None:
    place = tmp_path / "sheets.html"
    place.write_text(render_sheets(with_about(sound(), None, SAID), LOOK, EARLIER), encoding="utf-8")
    with visit(browser, place) as seen:
        assert broken_rules(seen, axe) == []


@pytest.mark.slow
def test_a_sheet_that_is_too_long_would_be_noticed(browser: Any, tmp_path: Path) -> None:
    place = tmp_path / "long.html"
    page = many([sound(), low_oil()], "customer")
    place.write_text(page.replace("</article>", "<p>more</p>" * 40 + "</article>", 1), encoding="utf-8")
    with visit(browser, place) as seen:
        assert sides_of(seen.page, "A4") == 3
