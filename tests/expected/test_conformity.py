"""Conformity probabilities against the examples of JCGM 106 and the normal table."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import norm

from dampkit.expected.conformity import guard_band, judge, probability_within
from dampkit.quantities import Estimate


def test_breakdown_voltage_of_a_diode() -> None:
    """[jcgm106] 7.3.3 example 1 (from memory): -5.47 V, u 0.05 V, upper limit -5.40 V gives 0.92."""
    assert probability_within(-5.47, 0.05, -math.inf, -5.40) == pytest.approx(0.92, abs=0.005)


def test_pressure_of_a_container() -> None:
    """[jcgm106] 7.3.3 example 2 (from memory): 509.7 kPa, u 8.6 kPa, lower limit 490 kPa gives 0.99."""
    assert probability_within(509.7, 8.6, 490, math.inf) == pytest.approx(0.99, abs=0.005)


def test_guard_band_is_1_65_u() -> None:
    """[iso14253]:2017 default rule (from memory): 1.65 u for 95 % at one limit."""
    assert guard_band(10.0) == pytest.approx(16.5, abs=0.06)


@pytest.mark.parametrize("sure", [0.9, 0.95, 0.99])
def test_a_value_on_the_guard_band_conforms_at_just_that_probability(sure: float) -> None:
    assert probability_within(100 - guard_band(2.0, sure), 2.0, -math.inf, 100) == pytest.approx(sure)


@pytest.mark.parametrize(
    ("value", "half", "answer"),
    [
        (100, 0.0, "in"),
        (110, 0.0, "in"),  # on the limit counts as within
        (110.1, 0.0, "out"),
        (100, 5.0, "in"),
        (108, 5.0, "not established"),
        (112, 5.0, "not established"),
        (120, 5.0, "out"),
        (100, 40.0, "not established"),  # in the middle, but so unsure that nothing is shown
    ],
)
def test_three_answers(value: float, half: float, answer: str) -> None:
    assert judge(Estimate(value, value - half, value + half), 90, 110).answer == answer


@given(st.floats(-50, 50), st.floats(0.01, 50), st.floats(-50, 50), st.floats(0, 100))
def test_probability_is_that_of_the_normal_distribution(value: float, u: float, low: float, width: float) -> None:
    wanted = norm.cdf(low + width, value, u) - norm.cdf(low, value, u)
    assert probability_within(value, u, low, low + width) == pytest.approx(wanted, abs=1e-9)


def test_limits_the_wrong_way_round_are_refused() -> None:
    with pytest.raises(ValueError, match="lower limit 2 is above upper limit 1"):
        judge(Estimate(1.5, 1, 2), 2, 1)


def test_a_value_that_is_not_a_number_is_refused() -> None:
    with pytest.raises(ValueError, match="finite"):
        judge(Estimate(math.nan, 0, 1), 0, 1)


def test_a_very_uncertain_value_is_neither_in_nor_out() -> None:
    """Little of a wide distribution is within, but as much of it is on either side."""
    assert judge(Estimate(208.0, -400.0, 816.0), 179.0, 242.0).answer == "not established"
