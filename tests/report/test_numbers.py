"""How values are written."""

from __future__ import annotations

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from dampkit.outcome.record import EstimateRecord
from dampkit.quantities import Estimate, with_interval
from dampkit.report.numbers import Writer, brief

NUMBERS = re.compile(r"-?\d+(?:\.\d+)?")


def test_rounding_follows_the_uncertainty_of_the_guides_example() -> None:
    """JCGM 100:2008, 7.2.4: 100.02147 g with an expanded uncertainty of 0.00079 g; at most two digits of it (7.2.6)."""
    written = with_interval(Estimate(100.02147, 100.02147 - 0.00079, 100.02147 + 0.00079), "g")
    assert written == "100.0215 g (100.0207 to 100.0223)"


def test_large_values_are_rounded_left_of_the_point() -> None:
    assert with_interval(Estimate(31234.0, 29360.0, 33108.0), "N s²/m²") == "31200 N s²/m² (29400 to 33100)"


def test_an_interval_open_to_one_side_does_not_round_the_value_away() -> None:
    """As of a spring so stiff that this test hardly shows it: known from below, from above hardly."""
    assert with_interval(Estimate(2644.0, 1326.0, 452854.0), "N/mm") == "2600 N/mm (1300 to 452900)"
    assert with_interval(Estimate(0.035, 0.0, 3.067), "N") == "0.0 N (0.0 to 3.1)"


def test_what_rounds_to_nothing_has_no_sign() -> None:
    assert with_interval(Estimate(-0.001, -0.5, 0.5), "mm") == "0.0 mm (-0.5 to 0.5)"


@given(st.floats(-1e6, 1e6), st.floats(1e-4, 1e5))
def test_rounding_moves_no_end_by_more_than_an_eighth_of_the_half_width(value: float, half: float) -> None:
    estimate = Estimate(value, value - half, value + half)
    written = [float(text) for text in NUMBERS.findall(with_interval(estimate, ""))]
    for shown, true in zip(written, (estimate.value, estimate.low, estimate.high), strict=True):
        assert abs(shown - true) <= 0.126 * estimate.half_width + 1e-9 * abs(value)


def test_nothing_is_not_established() -> None:
    assert Writer().estimate(None, "N") == "not established"
    assert Writer().value(None, "N") == "not established"


@pytest.mark.parametrize(
    ("value", "unit", "beside"),
    [
        (4448.22, "N", "[1000 lbf]"),  # NIST SP 811 (2008), app. B.8: 1 lbf = 4.448222 N
        (25.4, "mm", "[1.00 in]"),  # NIST SP 811: 1 in = 25.4 mm exactly
        (0.0254, "m/s", "[1.00 in/s]"),
        (175.1268, "N s/m", "[1.00 lbf s/in]"),  # NIST SP 811: 1 lbf/in = 175.1268 N/m
        (1.355818, "J", "[1.00 ft lbf]"),  # NIST SP 811: 1 ft lbf = 1.355818 J
        (100.0, "°C", "[212 °F]"),
    ],
)
def test_imperial_values_agree_with_the_published_factors(value: float, unit: str, beside: str) -> None:
    assert Writer(imperial=True).value(value, unit).endswith(beside)


def test_stored_unit_is_turned_into_the_printed_one() -> None:
    stiffness = EstimateRecord(value=2.43e6, low=2.4e6, high=2.46e6)
    assert Writer().estimate(stiffness, "N/mm", 1e-3) == "2430 N/mm (2400 to 2460)"


@pytest.mark.parametrize(
    ("value", "text"), [(0.0500, "0.05"), (1.0, "1"), (1240.0, "1240"), (0.0, "0"), (100.0, "100")]
)
def test_declared_numbers_lose_their_idle_zeros(value: float, text: str) -> None:
    assert brief(value) == text


def test_imperial_beside_an_interval_is_no_finer_than_the_interval() -> None:
    """1 in = 25.4 mm exactly: -0.02 mm, known to 0.6 mm or 0.025 in, is nothing to three places."""
    written = Writer(imperial=True).estimate(EstimateRecord(value=-0.022, low=-0.656, high=0.612), "mm")
    assert written == "0.0 mm (-0.7 to 0.6) [-0.001 in]"


@pytest.mark.parametrize(
    ("half", "written"), [(2.3e-5, "0.1919"), (2.3e-4, "0.1919 (0.1917 to 0.1921)"), (0.004, "0.192 (0.188 to 0.196)")]
)
def test_no_more_digits_are_written_than_a_bench_knows(half: float, written: str) -> None:
    """What repeats within a ten-thousandth is no better known than the bench that read it."""
    assert Writer().estimate(EstimateRecord(value=0.191904, low=0.191904 - half, high=0.191904 + half), "") == written
