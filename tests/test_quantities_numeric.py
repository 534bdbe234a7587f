"""The small numerical helpers against scipy and numpy, on random cases."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import constants
from scipy.integrate import cumulative_trapezoid
from scipy.optimize import nnls
from scipy.special import ndtr, stdtrit

from dampkit import quantities
from dampkit.quantities import (
    distinct,
    median,
    medians,
    normal_share,
    not_negative_fit,
    quantiles,
    running_integral,
    student_95,
)


@pytest.mark.parametrize("seed", range(20))
def test_not_negative_fit_is_scipy_s(seed: int) -> None:
    rng = np.random.default_rng(seed)
    columns, values = rng.normal(size=(30, 3)), rng.normal(size=30)
    np.testing.assert_allclose(not_negative_fit(columns, values), nnls(columns, values)[0], atol=1e-10)
    twice = np.column_stack([columns, -columns[:, -1]])  # the last of any sign: once for each
    a, b, up, down = nnls(twice, values)[0]
    np.testing.assert_allclose(not_negative_fit(columns, values, free=1), [a, b, up - down], atol=1e-10)


def test_running_integral_is_scipy_s() -> None:
    rng = np.random.default_rng(1)
    x, y = np.cumsum(rng.uniform(0, 1, 500)), rng.normal(size=500)
    np.testing.assert_allclose(running_integral(y, x), cumulative_trapezoid(y, x, initial=0), rtol=1e-12, atol=1e-12)


@pytest.mark.parametrize("size", [1, 2, 3, 4, 17, 100, 1001])
def test_order_statistics_are_numpy_s(size: int) -> None:
    rng = np.random.default_rng(size)
    for values in (
        rng.normal(size=size),
        rng.integers(0, 4, size).astype(float),
        np.append(rng.normal(size=size), np.inf),
    ):
        assert median(values) == np.median(values)
        shares = [0.0, 0.005, 0.25, 0.5, 0.9, 0.995, 1.0]
        with np.errstate(invalid="ignore"):  # beside infinity: numpy's answer too is not a number there
            np.testing.assert_array_equal(quantiles(values, shares), np.quantile(values, shares))
        np.testing.assert_array_equal(distinct(values), np.unique(values))
    rows = rng.normal(size=(5, size))
    rows[3, size // 2] = np.nan
    np.testing.assert_array_equal(medians(rows), np.median(rows, axis=1))
    assert np.isnan(median(rows[3]))
    assert np.isnan(quantiles(rows[3], [0.5])).all()


def test_of_no_values_nothing_is_known() -> None:
    none = np.zeros(0)
    assert np.isnan(median(none))
    assert np.isnan(quantiles(none, [0.1, 0.9])).all()
    assert distinct(none).size == 0


@pytest.mark.parametrize("z", [-np.inf, -30.0, -6.0, -1.0, 0.0, 0.3, 2.0, 9.0, np.inf])
def test_normal_share_is_scipy_s(z: float) -> None:
    assert normal_share(z) == pytest.approx(float(ndtr(z)), rel=1e-12)


@pytest.mark.parametrize("freedom", [*range(1, 31), 60, 121, 1000, 9999])
def test_students_point_is_scipy_s(freedom: int) -> None:
    assert student_95(freedom) == pytest.approx(float(stdtrit(freedom, 0.975)), rel=1e-9)


def test_units_are_those_that_scipy_carries() -> None:
    assert pytest.approx(constants.pound_force, rel=1e-14) == quantities.POUND_FORCE_N
    assert constants.kilogram_force == quantities.KILOGRAM_FORCE_N
    assert (constants.inch, constants.zero_Celsius) == (quantities.INCH_M, quantities.ZERO_CELSIUS_K)
    assert pytest.approx(constants.foot, rel=1e-15) == quantities.FOOT_M
