"""The page says what to test next, what a change asks for, and what a damping ratio is of: read as a mechanic would."""

from __future__ import annotations

import re

import pytest

from dampkit.outcome.advice_record import AdviceRecord, PartRecord
from dampkit.outcome.result import Result
from dampkit.report.page import render
from dampkit.report.sentences import worded
from tests.test_sample_runs import analysed


def section(page: str, name: str) -> str:
    """Text of one section of the page, tags left out."""
    found = re.search(rf'<section aria-labelledby="{name}">(.*?)</section>', page, re.DOTALL)
    return "" if found is None else " ".join(re.sub(r"<[^>]+>", " ", found[1]).split())


def test_the_steps_stand_on_the_page_as_a_numbered_list() -> None:
    result = analysed("trapped_air")
    assert result.next_test is not None
    page = render(result)
    said = section(page, "next-test")
    at = [said.index(" ".join(step.text.split())) for step in result.next_test.steps[:4]]
    assert at == sorted(at)
    assert all(" ".join(line.split()) in said for line in result.next_test.keep)
    assert f"Then {result.next_test.then}" in said
    assert '<a href="#next-test">' in page


def test_a_unit_that_is_rebuilt_first_has_no_such_section() -> None:
    page = render(analysed("weak_blowoff"))
    assert section(page, "next-test") == ""
    assert '<a href="#next-test">' not in page


def test_a_verdict_that_waits_for_nothing_says_so() -> None:
    assert "The verdict does not wait for this" in section(render(analysed("sound_twin_tube")), "next-test")


def test_the_next_step_names_the_parts_that_are_changed_and_no_others() -> None:
    """Its forces are all inside its reference; it is both directions that are too stiff for the car."""
    result = analysed("sound_monotube")
    assert result.advice is not None
    for part in result.advice.parts:
        assert f"{part.direction} {part.part}" in result.verdict.next_step
    assert {part.direction for part in result.advice.parts} == {"rebound", "compression"}
    assert "fit a unit made for this car" in result.verdict.next_step


@pytest.mark.parametrize("irreversible", [False, True])
def test_a_hole_is_said_to_come_last(irreversible: bool) -> None:
    part = PartRecord(
        direction="rebound", part="bleed" if irreversible else "preload", ratio=2.0, now=1.0, new=2.0, unit="mm2", do="so",
        irreversible=irreversible,
    )  # fmt: skip
    advice = AdviceRecord(aim="reference", parts=(part,), curves=(), damping_ratios=(), answer="in", notes=())
    said = worded(analysed("sound_monotube").model_copy(update={"advice": advice})).verdict.next_step
    assert ("The hole comes last" in said) == irreversible
    assert "made for this car" not in said


@pytest.mark.parametrize("name", ["sound_twin_tube", "sound_lever_arm"])
def test_a_damping_ratio_stands_beside_what_it_is_of(name: str) -> None:
    """One mass or two, and the speed and stroke of each row; the body on its wheel swings with less (see tests/needs)."""
    result: Result = analysed(name)
    said = section(render(result), "vehicle")
    for words in ("one mass", "two masses", "at the speed and stroke of its own stage", "Stroke", "Two masses: body"):
        assert words in said
    assert result.vehicle is not None
    for ratio in result.vehicle.ratios:
        assert f"{ratio.body_ratio:.3g}" in said
