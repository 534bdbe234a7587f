"""The least-squares engine on certified problems. Source: NIST StRD, nonlinear regression [nist_strd]."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import pytest
from scipy.optimize import nnls

from dampkit.damper.least_squares import least_squares
from dampkit.quantities import Array


@dataclass(frozen=True)
class Problem:
    x: tuple[float, ...]
    y: tuple[float, ...]
    starts: tuple[tuple[float, float], ...]
    certified: tuple[float, float]
    standard_deviation: tuple[float, float]
    residual_sum: float
    residual_deviation: float
    model: Callable[[Array, Array], Array]
    gradient: Callable[[Array, Array], Array]


def rise(p: Array, x: Array) -> Array:
    with np.errstate(over="ignore"):  # a trial step may go far out; the engine steps back from it
        return np.asarray(p[0] * -np.expm1(-p[1] * x))


def rise_gradient(p: Array, x: Array) -> Array:
    with np.errstate(over="ignore"):
        return np.stack([-np.expm1(-p[1] * x), p[0] * x * np.exp(-p[1] * x)], axis=1)


def power(p: Array, x: Array) -> Array:
    return np.asarray(p[0] * x ** p[1])


def power_gradient(p: Array, x: Array) -> Array:
    return np.stack([x ** p[1], p[0] * x ** p[1] * np.log(x)], axis=1)


PROBLEMS = {
    "Misra1a": Problem(
        (77.6, 114.9, 141.1, 190.8, 239.9, 289.0, 332.8, 378.4, 434.8, 477.3, 536.8, 593.1, 689.1, 760.0),
        (10.07, 14.73, 17.94, 23.93, 29.61, 35.18, 40.02, 44.82, 50.76, 55.05, 61.01, 66.40, 75.47, 81.78),
        ((500, 1e-4), (250, 5e-4)),
        (2.3894212918e02, 5.5015643181e-04),
        (2.7070075241e00, 7.2668688436e-06),
        1.2455138894e-01,
        1.0187876330e-01,
        rise,
        rise_gradient,
    ),
    "DanWood": Problem(
        (1.309, 1.471, 1.490, 1.565, 1.611, 1.680),
        (2.138, 3.421, 3.597, 4.340, 4.882, 5.660),
        ((1, 5), (0.7, 4)),
        (7.6886226176e-01, 3.8604055871e00),
        (1.8281973860e-02, 5.1726610913e-02),
        4.3173084083e-03,
        3.2853114039e-02,
        power,
        power_gradient,
    ),
    "BoxBOD": Problem(
        (1, 2, 3, 5, 7, 10),
        (109, 149, 149, 191, 213, 224),
        ((1, 1), (100, 0.75)),
        (2.1380940889e02, 5.4723748542e-01),
        (1.2354515176e01, 1.0455993237e-01),
        1.1680088766e03,
        1.7088072423e01,
        rise,
        rise_gradient,
    ),
}
CASES = [(name, start) for name, problem in PROBLEMS.items() for start in problem.starts]


@pytest.mark.parametrize(("name", "start"), CASES)
def test_certified_values_and_standard_errors_from_each_start(name: str, start: tuple[float, float]) -> None:
    p = PROBLEMS[name]
    x, y = np.array(p.x, dtype=float), np.array(p.y, dtype=float)
    fit = least_squares(lambda b: p.model(b, x) - y, lambda b: p.gradient(b, x), np.array(start, dtype=float))
    assert fit.converged, fit.why_not
    np.testing.assert_allclose(fit.parameters, p.certified, rtol=1e-6)
    assert fit.standard_errors is not None
    np.testing.assert_allclose(fit.standard_errors, p.standard_deviation, rtol=1e-5)
    assert fit.sum_of_squares == pytest.approx(p.residual_sum, rel=1e-8)
    assert fit.residual_standard_deviation == pytest.approx(p.residual_deviation, rel=1e-8)


def test_a_start_from_which_boxbod_has_no_slope_is_named() -> None:
    """At b2 = 800 every exponential is nothing: the sum of squares no longer depends on b2, and that is said."""
    p = PROBLEMS["BoxBOD"]
    x, y = np.array(p.x, dtype=float), np.array(p.y, dtype=float)
    fit = least_squares(lambda b: p.model(b, x) - y, lambda b: p.gradient(b, x), np.array([1.0, 800.0]))
    assert fit.unfelt == (1,)
    assert fit.covariance is None


def test_two_parameters_that_do_the_same_have_no_covariance_but_the_predictions_are_settled() -> None:
    x = np.linspace(0, 1, 20)
    twin = np.stack([x, x], axis=1)
    noise = np.random.default_rng(1).normal(0.0, 0.1, x.size)
    fit = least_squares(lambda b: twin @ b - 3 * x - noise, lambda b: twin, np.array([1.0, 1.0]))
    assert fit.converged
    assert fit.covariance is None
    alone = np.linalg.lstsq(x[:, None], 3 * x + noise, rcond=None)[0]
    np.testing.assert_allclose(fit.parameters.sum(), alone, rtol=1e-6)


def test_a_parameter_at_its_bound_is_named_and_has_no_spread() -> None:
    x = np.linspace(1, 2, 20)
    base = np.stack([x, x**2], axis=1)
    y = base @ np.array([2.0, -0.5])
    fit = least_squares(lambda b: base @ b - y, lambda b: base, np.array([1.0, 1.0]), low=np.zeros(2))
    assert fit.at_bound == (1,)
    assert fit.standard_errors is not None
    assert fit.standard_errors[1] == 0


@pytest.mark.parametrize(("name", "start"), CASES)
def test_logarithms_inside_change_nothing_that_is_given_back(name: str, start: tuple[float, float]) -> None:
    """Certified values, standard errors too: the covariance is that of the parameters themselves."""
    p = PROBLEMS[name]
    x, y = np.array(p.x, dtype=float), np.array(p.y, dtype=float)
    fit = least_squares(
        lambda b: p.model(b, x) - y,
        lambda b: p.gradient(b, x),
        np.array(start, dtype=float),
        log=np.ones(2, dtype=bool),
    )
    assert fit.converged, fit.why_not
    np.testing.assert_allclose(fit.parameters, p.certified, rtol=1e-6)
    assert fit.standard_errors is not None
    np.testing.assert_allclose(fit.standard_errors, p.standard_deviation, rtol=1e-5)


def test_facts_of_a_fit() -> None:
    """Start, rounds and evaluations as counted from outside; a fit that is stopped early says that it had not settled."""
    p = PROBLEMS["Misra1a"]
    x, y = np.array(p.x, dtype=float), np.array(p.y, dtype=float)
    counts = {"residual": 0, "jacobian": 0}

    def residual(b: Array) -> Array:
        counts["residual"] += 1
        return np.asarray(p.model(b, x) - y)

    def jacobian(b: Array) -> Array:
        counts["jacobian"] += 1
        return p.gradient(b, x)

    start = np.array(p.starts[0], dtype=float)
    fit = least_squares(residual, jacobian, start)
    assert (fit.evaluations, fit.rounds) == (counts["residual"], counts["jacobian"])
    np.testing.assert_array_equal(fit.start, start)
    early = least_squares(residual, jacobian, start, rounds=2)
    assert not early.converged
    assert "2 rounds" in early.why_not


def test_a_bound_met_on_the_way_does_not_stop_the_others() -> None:
    """Non-negative least squares of random problems against scipy's `nnls`."""
    rng = np.random.default_rng(4)
    for _ in range(50):
        base, y = rng.normal(size=(30, 5)), rng.normal(size=30)
        fit = least_squares(lambda b: base @ b - y, lambda b: base, np.ones(5), low=np.zeros(5))  # noqa: B023
        assert fit.converged, fit.why_not
        best, norm = nnls(base, y)
        np.testing.assert_allclose(fit.sum_of_squares, norm**2, rtol=1e-9)
        np.testing.assert_allclose(fit.parameters, best, atol=1e-5)
