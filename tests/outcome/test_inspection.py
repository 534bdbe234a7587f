"""What eyes find, and what follows. Common practice, no source."""

from __future__ import annotations

from typing import Any

import pytest

from dampkit.outcome.inspection import QUESTIONS, TELESCOPIC, Inspection, InspectionSpec, Seen, read_sheet, sheet_record
from dampkit.outcome.verdict import Known, decide
from tests.outcome.made import BAD_DATA, covered, finding, point


def seen(**answers: Any) -> Seen:
    found = read_sheet(InspectionSpec(inspection=Inspection(**answers)))
    assert found is not None
    return found


SOUND: dict[str, Any] = {
    "rod_straight": True, "rod_pitting": "none", "bore": "sound", "body": "sound", "eyes": "sound", "leak": "dry",
    "oil_level": "full", "oil_look": "clear", "parts_available": True,
}  # fmt: skip


def test_an_empty_sheet_leaves_everything_not_established() -> None:
    assert seen().missing == tuple(QUESTIONS[name] for name in TELESCOPIC)


def test_a_sound_unit_has_nothing_against_it() -> None:
    assert seen(**SOUND) == Seen()


@pytest.mark.parametrize(
    ("name", "answer"),
    [
        ("rod_straight", False), ("rod_runout_mm", 0.3), ("rod_pitting", "in seal travel"),
        ("bore", "scored beyond honing"), ("body", "cracked"), ("body", "dented at the bore"), ("eyes", "cracked"),
    ],
)  # fmt: skip
def test_structure_outweighs_a_clean_bench_run_and_bad_data(name: str, answer: Any) -> None:
    sheet = {**SOUND, name: answer}
    if name == "rod_runout_mm":
        sheet["rod_straight"] = None
    for quality in ((), (BAD_DATA,)):
        verdict = decide(Known(quality=quality, reference=(point("in"),), seen=seen(**sheet)))
        assert verdict.action == "replace"


@pytest.mark.parametrize(
    ("name", "answer"),
    [
        ("leak", "running"),
        ("oil_level", "low"),
        ("oil_look", "milky"),
        ("oil_added_ml", 40.0),
        ("bore", "scored, hones out"),
    ],
)
def test_what_eyes_find_asks_for_a_rebuild(name: str, answer: Any) -> None:
    assert decide(Known(reference=(point("in"),), seen=seen(**{**SOUND, name: answer}))).action == "rebuild"


def test_a_worn_bush_comes_before_any_fault_of_the_loops() -> None:
    verdict = decide(Known(findings=(finding("low_oil"),), seen=seen(**{**SOUND, "eyes": "worn bush"})))
    assert verdict.action == "retest"
    assert [(g.key, g.about) for g in verdict.grounds] == [("seen", "eyes: worn bush"), ("not_judged_yet", "low_oil")]


def test_what_was_not_looked_at_is_said_even_where_the_unit_may_be_fitted() -> None:
    sheet = {key: value for key, value in SOUND.items() if key != "rod_pitting"}
    assert seen(**sheet).missing == ("pitting of the rod",)
    verdict = decide(Known(reference=(point("in"),), coverage=covered(), seen=seen(**sheet)))
    assert (verdict.action, verdict.step) == ("fit", "look_then_fit")


def test_the_record_holds_what_was_found_and_what_was_not() -> None:
    spec = InspectionSpec(inspection=Inspection(leak="damp", rod_straight=True, notes="left front"))
    record = sheet_record(spec, read_sheet(spec))
    assert record is not None
    assert record.answers == {"rod_straight": "yes", "leak": "damp"}
    assert len(record.against) == 1
    assert "state of the bore" in record.not_established
    assert record.notes == "left front"


@pytest.mark.parametrize(
    ("damage", "cure", "step"),
    [
        ({"rod_straight": False}, {"rod_renewable": True}, "renew:rod"),
        ({"rod_pitting": "in seal travel"}, {"rod_renewable": True}, "renew:rod"),
        ({"tight_place_turned": "moves with the rod"}, {"rod_renewable": True}, "renew:rod"),
        ({"bore": "scored beyond honing"}, {"bore_sleevable": True}, "renew:bore"),
        (
            {"rod_straight": False, "bore": "scored beyond honing"},
            {"rod_renewable": True, "bore_sleevable": True},
            "renew:rod+bore",
        ),
    ],
)
def test_a_part_that_can_be_renewed_is_a_rebuild_and_else_the_unit_is_out_of_use(
    damage: dict[str, Any], cure: dict[str, Any], step: str
) -> None:
    base = Known(reference=(point("in"),), seen=seen(**{**SOUND, **damage}))
    assert decide(base).action == "replace"
    made = decide(Known(reference=(point("in"),), seen=seen(**{**SOUND, **damage, **cure})))
    assert (made.action, made.step) == ("rebuild", step)


def test_a_crack_is_cured_by_no_rod() -> None:
    sheet = seen(**{**SOUND, "rod_straight": False, "body": "cracked", "rod_renewable": True})
    assert decide(Known(seen=sheet)).action == "replace"


@pytest.mark.parametrize(
    ("turned", "action"), [(None, "retest"), ("moves with the rod", "replace"), ("stays", "rebuild")]
)
def test_a_tight_place_is_settled_by_turning_the_rod(turned: Any, action: str) -> None:
    """One slow pass shows a tight place; what makes it shows when the rod is turned."""
    known = Known(findings=(finding("bent_rod"),), seen=seen(**SOUND, tight_place_turned=turned))
    assert decide(known).action == action
