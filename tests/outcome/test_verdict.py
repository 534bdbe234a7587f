"""The order of decision, one case a rule. Which course a fault takes is common practice, no source."""

from __future__ import annotations

from itertools import product
from typing import get_args

import pytest

from dampkit.expected.conformity import Answer
from dampkit.outcome.remedies import COURSES
from dampkit.outcome.result import Action
from dampkit.outcome.verdict import Known, decide
from tests.outcome.made import BAD_DATA, finding, point, suits_car

IN, OUT, UNSURE = point("in"), point("out"), point("not established")
CODES = (
    "low_oil", "aerated_oil", "low_gas_pressure", "internal_leak", "weak_blowoff", "blocked_bleed",
    "high_friction", "bent_rod", "loose_mount", "fade", "trapped_air",
)  # fmt: skip


def test_every_fault_of_the_result_has_a_course() -> None:
    assert set(CODES) <= set(COURSES)


@pytest.mark.parametrize("code", CODES)
def test_a_found_fault_is_never_fit_or_adjust(code: str) -> None:
    verdict = decide(Known(findings=(finding(code),), reference=(IN,), suits=suits_car("in")))
    assert verdict.action == COURSES[code].action
    assert verdict.reasons[0].startswith("Signs of")


def test_bad_data_comes_before_any_fault() -> None:
    verdict = decide(Known(quality=(BAD_DATA,), findings=(finding("bent_rod"),), reference=(IN,)))
    assert verdict.action == "retest"
    assert verdict.reasons[0] == "The force channel is cut off at 2000 N."


def test_structural_damage_outweighs_the_rest() -> None:
    found = (finding("low_oil", 0.99), finding("bent_rod", 0.7), finding("trapped_air", 0.9))
    assert decide(Known(findings=found)).action == "replace"


def test_play_is_put_right_before_lost_motion_is_believed() -> None:
    verdict = decide(Known(findings=(finding("low_oil", 0.95), finding("loose_mount", 0.6))))
    assert verdict.action == "retest"
    assert "mount" in verdict.reasons[0]
    assert any("low oil" in reason for reason in verdict.reasons)


def test_play_does_not_hide_a_valve_fault() -> None:
    assert decide(Known(findings=(finding("weak_blowoff"), finding("loose_mount")))).action == "rebuild"


def test_a_likely_suspicion_holds_up_a_fit() -> None:
    suspected = finding("internal_leak", 0.6, "suspected")
    assert decide(Known(findings=(suspected,), reference=(IN,))).action == "retest"


def test_an_unlikely_suspicion_is_told_but_does_not_hold_up_a_fit() -> None:
    verdict = decide(Known(findings=(finding("internal_leak", 0.2, "suspected"),), reference=(IN,)))
    assert verdict.action == "fit"
    assert any("internal leak" in reason for reason in verdict.reasons)


def test_out_of_its_window_without_a_fault_is_a_matter_of_setting() -> None:
    verdict = decide(Known(reference=(IN, OUT)))
    assert verdict.action == "adjust"
    assert "reads 100 N, below its window of 120 to 140 N" in verdict.reasons[0]


@pytest.mark.parametrize(
    ("mean", "share", "words"),
    [
        (0.2, 0.8, "compression firmer"),
        (0.2, 0.6, "rebound firmer"),
        (0.4, 0.8, "rebound softer"),
        (0.4, 0.6, "compression softer"),
    ],
)
def test_wrong_for_the_car_says_what_to_set(mean: float, share: float, words: str) -> None:
    verdict = decide(Known(reference=(IN,), suits=suits_car("out", mean, share)))
    assert verdict.action == "adjust"
    assert words in verdict.next_step


def test_nothing_to_compare_with_is_not_fit() -> None:
    verdict = decide(Known())
    assert verdict.action == "retest"
    assert "nothing to compare with" in verdict.reasons[0]


def test_a_met_reference_or_a_met_target_is_enough() -> None:
    assert decide(Known(reference=(IN,))).action == "fit"
    assert decide(Known(suits=suits_car("in"))).action == "fit"


STATES: tuple[Answer | None, ...] = (None, *get_args(Answer))


@pytest.mark.parametrize(("reference", "car"), list(product(STATES, STATES)))
def test_fit_only_where_everything_declared_was_met(reference: Answer | None, car: Answer | None) -> None:
    known = Known(
        reference=None if reference is None else (IN, point(reference)),
        suits=None if car is None else suits_car(car, 0.28 if car == "in" else 0.2),
    )
    verdict = decide(known)
    assert verdict.action in get_args(Action)
    assert (verdict.action == "fit") == ({reference, car} <= {"in", None} and (reference, car) != (None, None))
    assert verdict.reasons
    assert verdict.next_step.endswith(".")


def test_stages_short_of_the_rated_speed_are_said() -> None:
    verdict = decide(Known(reference=(IN,), suits=suits_car("not established", None)))
    assert verdict.action == "retest"
    assert "do not reach 0.3 m/s" in verdict.reasons[0]
