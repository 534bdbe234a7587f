"""How a number changes over a unit's years: a weighted straight line, and a plain word for what it shows."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from typing import Literal

import numpy as np

from dampkit.frozen import frozen
from dampkit.quantities import Z95, Array, Estimate, student_95

DAYS_A_YEAR = 365.25
Course = Literal["rises", "falls", "no change shown"]


@frozen
class Trend:
    """Change a year with its 95 % interval, in the unit of the number; None where the tests cannot tell."""

    per_year: Estimate | None
    why_not: str = ""

    @property
    def course(self) -> Course | None:
        """`no change shown` where the interval holds zero: that is not a proof that nothing changed."""
        if self.per_year is None:
            return None
        if self.per_year.low > 0:
            return "rises"
        return "falls" if self.per_year.high < 0 else "no change shown"


def trend(days: Sequence[str], values: Sequence[Estimate]) -> Trend:
    """Weighted least squares of value against time in years; at least two different days are needed.

    Each value weighs by one over its variance. Where the values scatter more about the line than their intervals allow,
    the standard error grows by the root of the reduced chi-square, and Student's t replaces the normal point.
    Source: textbook weighted least squares, common practice; the scatter factor follows the habit of particle data
    averages (from memory).
    """
    years = np.array([date.fromisoformat(day).toordinal() for day in days], dtype=np.float64) / DAYS_A_YEAR
    if len(np.unique(years)) < 2:
        return Trend(None, "tests on at least two days are needed")
    value = np.array([v.value for v in values])
    error = np.array([v.half_width / Z95 for v in values])
    if not np.all(error > 0):
        return Trend(None, "a value without an interval cannot be weighed")
    slope, standard_error, chi_square = _line(years - years.mean(), value, 1.0 / error**2)
    left = len(years) - 2
    point = Z95
    if left > 0 and chi_square > left:
        standard_error *= np.sqrt(chi_square / left)
        point = student_95(left)
    return Trend(Estimate.from_standard_error(slope, standard_error, point))


def _line(x: Array, y: Array, weight: Array) -> tuple[float, float, float]:
    """Slope, its standard error from the weights alone, and chi-square of the fit."""
    x_mean, y_mean = np.average(x, weights=weight), np.average(y, weights=weight)
    spread = float(np.sum(weight * (x - x_mean) ** 2))
    slope = float(np.sum(weight * (x - x_mean) * (y - y_mean))) / spread
    rest = y - y_mean - slope * (x - x_mean)
    return slope, spread**-0.5, float(np.sum(weight * rest**2))
