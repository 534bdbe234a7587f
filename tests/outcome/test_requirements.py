"""Each requirement with its three answers and its guard band."""

from __future__ import annotations

import math

import pytest

from dampkit.outcome.requirements import requirement, together
from dampkit.quantities import Estimate


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
