"""Nonlinear least squares with an exact Jacobian, and what can be said of the result."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from dampkit.quantities import Array

CONDITION_LIMIT = 1e12  # of the column-scaled normal matrix; beyond it the data do not fix the parameters
AT_BOUND = 1e-9


@dataclass(frozen=True)
class Fit:
    """Named facts of a fit. `covariance` (K, K) assumes independent residuals of equal spread; see `uncertainty`."""

    parameters: Array
    residuals: Array
    jacobian: Array
    covariance: Array | None
    converged: bool
    why_not: str
    at_bound: tuple[int, ...]

    @property
    def sum_of_squares(self) -> float:
        return float(self.residuals @ self.residuals)

    @property
    def residual_standard_deviation(self) -> float:
        return float(np.sqrt(self.sum_of_squares / max(1, self.residuals.size - self.parameters.size)))

    @property
    def standard_errors(self) -> Array | None:
        return None if self.covariance is None else np.sqrt(np.diag(self.covariance))


def least_squares(
    residual: Callable[[Array], Array],
    jacobian: Callable[[Array], Array],
    start: Array,
    *,
    low: Array | None = None,
    high: Array | None = None,
    rounds: int = 200,
) -> Fit:
    """Minimise the sum of squared residuals from a start, within bounds.

    residual(p) -> (N,), jacobian(p) -> (N, K). The engine is scipy's trust-region reflective method with the
    parameters scaled by the Jacobian's columns. Not converged is an answer: a Jacobian that no longer
    depends on a parameter, or a sum of squares that still falls, is reported and no covariance is given.
    Source: [more1978] for the scaling; checked on [nist_strd].
    """
    from scipy import optimize

    bounds = (
        np.full(start.size, -np.inf) if low is None else low,
        np.full(start.size, np.inf) if high is None else high,
    )
    answer = optimize.least_squares(
        residual, start, jac=jacobian, bounds=bounds, x_scale="jac", xtol=1e-14, ftol=1e-14, gtol=1e-14, max_nfev=rounds
    )
    j = np.asarray(answer.jac)
    span = np.where(np.isfinite(bounds[1] - bounds[0]), bounds[1] - bounds[0], 1.0)
    bound = tuple(
        int(i)
        for i in np.flatnonzero((answer.x - bounds[0] <= AT_BOUND * span) | (bounds[1] - answer.x <= AT_BOUND * span))
    )
    covariance, why_not = _covariance(j, np.asarray(answer.fun), free=[i for i in range(start.size) if i not in bound])
    if answer.status == 0:
        why_not = f"the sum of squares still fell after {rounds} rounds"
    return Fit(answer.x, answer.fun, j, None if why_not else covariance, not why_not, why_not, bound)


def _covariance(jacobian: Array, residuals: Array, free: list[int]) -> tuple[Array | None, str]:
    """Covariance of the free parameters (rows of parameters at a bound are zero), or why there is none."""
    j = jacobian[:, free]
    size = np.linalg.norm(j, axis=0)
    if np.any(size == 0) or not np.all(np.isfinite(j)):
        return None, "the data do not depend on a parameter here"
    scaled = j / size
    singular = np.linalg.svd(scaled, compute_uv=False)
    if singular[-1] ** 2 * CONDITION_LIMIT < singular[0] ** 2:
        return None, "the data do not tell two parameters apart"
    degrees = max(1, residuals.size - len(free))
    inverse = np.linalg.inv(scaled.T @ scaled) / np.outer(size, size)
    covariance = np.zeros((jacobian.shape[1], jacobian.shape[1]))
    covariance[np.ix_(free, free)] = inverse * float(residuals @ residuals) / degrees
    return covariance, ""
