"""The straight line over the years: against certified values and against its own claim of 95 %."""

from __future__ import annotations

from datetime import date, timedelta

import numpy as np
import pytest
from scipy.stats import t

from dampkit.quantities import Estimate
from dampkit.store.trend import DAYS_A_YEAR, trend

# NIST StRD, linear regression, Norris: y against x (data from memory; they give the certified values below)
NORRIS = """0.1 0.2 338.8 337.4 118.1 118.2 888.0 884.6 9.2 10.1 228.1 226.5 668.5 666.3 998.5 996.3 449.1 448.6
778.9 777.0 559.2 558.2 0.3 0.4 0.1 0.6 778.1 775.5 668.8 666.9 339.3 338.0 448.9 447.5 10.8 11.6 557.7 556.0
228.3 228.1 998.0 995.8 888.8 887.6 119.6 120.2 0.3 0.3 0.6 0.3 557.6 556.8 339.3 339.1 888.0 887.2 998.5 999.0
778.9 779.0 10.2 11.1 117.6 118.3 228.9 229.2 668.4 669.1 449.2 448.9 0.2 0.5"""
START = date(2000, 1, 1)


def on(days: float) -> str:
    return (START + timedelta(days=days)).isoformat()


def test_slope_and_error_are_the_certified_ones_of_norris() -> None:
    """NIST StRD Norris: slope 1.00211681802045, its standard deviation 0.429796848199937E-03, 34 degrees of freedom.

    The x of Norris are tenths, taken as tens of days here; equal small intervals make the line unweighted, and the
    scatter then sets the error.
    """
    y, x = np.array(NORRIS.split(), dtype=float).reshape(-1, 2).T
    found = trend([on(round(10 * v)) for v in x], [Estimate(v, v - 1e-3, v + 1e-3) for v in y]).per_year
    assert found is not None
    per_day = found.scaled(10 / DAYS_A_YEAR)
    assert per_day.value == pytest.approx(1.00211681802045, rel=1e-9)
    assert per_day.half_width / t.ppf(0.975, 34) == pytest.approx(0.429796848199937e-3, rel=1e-6)


def test_two_tests_give_their_difference_and_the_root_of_the_sum_of_squares() -> None:
    found = trend([on(0), on(2 * DAYS_A_YEAR + 0.5)], [Estimate(10, 7, 13), Estimate(20, 16, 24)]).per_year
    assert found is not None
    years = 731 / DAYS_A_YEAR
    assert found.value == pytest.approx(10 / years)
    assert found.half_width == pytest.approx(5 / years)  # 3, 4, 5


@pytest.mark.parametrize("scatter", [1.0, 3.0])
def test_the_interval_holds_the_truth_as_often_as_it_claims(scatter: float) -> None:
    """Stated intervals that are right, and stated intervals three times too small."""
    rng, days = np.random.default_rng(5), [0, 200, 500, 1100, 1900, 2500]
    truth, sizes = 2.0, np.array([0.5, 1.0, 0.7, 0.9, 0.6, 0.8])
    hits = 0
    for _ in range(1500):
        values = truth * np.array(days) / DAYS_A_YEAR + scatter * sizes * rng.standard_normal(6)
        said = [Estimate.from_standard_error(v, s) for v, s in zip(values, sizes, strict=True)]
        found = trend([on(d) for d in days], said).per_year
        hits += found is not None and found.low <= truth <= found.high
    assert 0.935 <= hits / 1500 <= (0.985 if scatter == 1.0 else 0.965)


@pytest.mark.parametrize(
    ("values", "course"), [((1, 5, 9), "rises"), ((9, 5, 1), "falls"), ((5, 5, 5), "no change shown")]
)
def test_the_word_for_it(values: tuple[float, ...], course: str) -> None:
    assert trend([on(0), on(400), on(800)], [Estimate(v, v - 1, v + 1) for v in values]).course == course


def test_what_cannot_tell_gives_no_trend() -> None:
    same_day = trend([on(0), on(0)], [Estimate(1, 0, 2), Estimate(2, 1, 3)])
    no_interval = trend([on(0), on(9)], [Estimate(1, 1, 1), Estimate(2, 1, 3)])
    for found in (same_day, no_interval):
        assert (found.per_year, found.course) == (None, None)
        assert found.why_not
