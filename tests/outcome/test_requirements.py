"""Each requirement with its three answers and its guard band."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from dampkit.damper.declared_checks import declared_checks
from dampkit.faults.finding import Measure
from dampkit.outcome.requirements import requirement, requirements, together
from dampkit.outcome.verdict import Known, decide
from dampkit.quantities import Estimate
from tests.faults.made_unit import Made, test_of
from tests.outcome.made import covered, point


@pytest.mark.parametrize(
    ("value", "half", "answer"), [(2.0, 0.5, "in"), (2.8, 0.5, "not established"), (4.0, 0.5, "out")]
)
def test_three_answers_at_one_limit(value: float, half: float, answer: str) -> None:
    made = requirement("lost motion", Estimate(value, value - half, value + half), -math.inf, 3.0, "mm", "made up")
    assert made.answer == answer
    assert made.limit_low is None
    assert made.limit_high == 3.0
    assert made.guard_band == pytest.approx(1.645 * half / 1.96, rel=1e-3)  # 1.645 u, ISO 14253-1, from memory


def test_not_measured_is_not_established() -> None:
    made = requirement("friction", None, -math.inf, 55.0, "N", "made up")
    assert (made.answer, made.probability, made.guard_band) == ("not established", None, None)


def test_probability_of_a_container() -> None:
    """JCGM 106:2012, 7.3.3 example 2, from memory: 509.7 kPa, u 8.6 kPa, at least 490 kPa: 0.99."""
    estimate = Estimate.from_standard_error(509.7, 8.6)
    made = requirement("pressure", estimate, 490.0, math.inf, "kPa", "made up")
    assert made.probability == pytest.approx(0.99, abs=0.005)
    assert made.answer == "in"


@pytest.mark.parametrize(
    ("answers", "whole"),
    [
        ((), "not established"),
        (("in", "in"), "in"),
        (("in", "not established"), "not established"),
        (("in", "not established", "out"), "out"),
    ],
)
def test_several_points_as_one(answers: tuple[str, ...], whole: str) -> None:
    assert together(answers) == whole  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("friction_n", "side_load_n", "answer"),
    [
        (40.0, None, "in"),
        (100.0, None, "not established"),
        (180.0, None, "out"),
        (100.0, 600.0, "in"),
        (100.0, 0.0, "out"),
    ],
)
def test_a_struts_friction_is_held_to_what_pressed_on_it(
    friction_n: float, side_load_n: float | None, answer: str
) -> None:
    """55 N pulled straight, 150 N under side load (QC/T 491); between them nothing holds until the load is told."""
    test = test_of(Made(duty="strut", friction_n=friction_n, side_load_n=side_load_n))
    quality = tuple(declared_checks(test.record, test.spec))
    test = replace(test, unit=replace(test.unit, quality=quality))
    (made,) = [r for r in requirements(test, None, None) if r.key == "friction"]
    assert made.answer == answer
    known = Known(quality=quality, asked=(made,), reference=(point("in"),), coverage=covered(), rebound_share=0.65)
    verdict = decide(known)
    if answer == "not established":
        assert verdict.action == "undecided"
        assert "side_load_open" in [g.key for g in verdict.grounds]
    if answer == "in":
        assert verdict.action == "fit"
        assert ("side_load_unseen" in [g.key for g in verdict.grounds]) == (side_load_n is None)


def test_lost_motion_is_asked_of_what_the_faults_read() -> None:
    """With springs and play taken off where the fault room knows them; of the other direction as the unit shows it."""
    test = test_of(Made())
    late = Measure("late", 0.6, 0.5, "mm", 3.0, "common practice", direction="compression")
    rebound = test.unit.rebound.lost_motion_mm
    assert rebound is not None
    asked = [r for r in requirements(test, None, None, measures=(late,)) if r.key == "lost_motion"]
    made = {r.name: r.measured.value for r in asked if r.measured is not None}
    assert made == {"lost motion entering compression": 0.6, "lost motion entering rebound": rebound.value}
