"""Nonlinear least squares with an exact Jacobian, and what can be said of the result."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from dampkit.quantities import Array, Index

CONDITION_LIMIT = 1e12  # of the column-scaled normal matrix; beyond it the data do not fix the parameters
FIRST_DAMPING, LAST_DAMPING = 1e-3, 1e12
STILL_ROUNDS = 4  # after so many rounds without a fall the rest is drift along a flat valley; the covariance shows it
NEXT_TO_NOTHING = 1e-10  # relative fall that a step promises, below which nothing is left to gain but rounding
DAMPING_DOWN, DAMPING_UP = 10.0, 5.0
SETTLED = 1e-10  # relative fall of the sum of squares ...
SETTLED_CHANGE = 1e-7  # ... and relative change of the parameters at which a fit has settled


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

    residual(p) -> (N,), jacobian(p) -> (N, K). Levenberg-Marquardt with parameters scaled by the largest norm that
    their columns had; parameters that a step would push through a bound stay on it while the gradient holds them there.
    Not converged is an answer: a Jacobian that no longer depends on a parameter, or a sum of squares that still falls,
    is reported and no covariance is given.
    Source: [more1978] for damping and scaling; bounds by an active set, own; checked on [nist_strd].
    """
    low = np.full(start.size, -np.inf) if low is None else low
    high = np.full(start.size, np.inf) if high is None else high
    p = np.clip(start, low, high)
    r = residual(p)
    scale, damping = np.zeros(p.size), FIRST_DAMPING
    still = 0  # rounds in a row in which the sum of squares hardly fell
    for _ in range(rounds):
        j = jacobian(p)
        scale = np.maximum(scale, np.linalg.norm(j, axis=0))
        gradient = j.T @ r
        held = ((p <= low) & (gradient > 0)) | ((p >= high) & (gradient < 0))
        move = np.flatnonzero(~held & (scale > 0))
        normal = j[:, move].T @ j[:, move] / np.outer(scale[move], scale[move])
        before = float(r @ r)
        p, r, damping, change, promised = _step(residual, (p, r), (move, normal, gradient, scale, low, high), damping)
        still = still + 1 if before - float(r @ r) <= SETTLED * before else 0
        done = change <= SETTLED_CHANGE or promised <= NEXT_TO_NOTHING * before
        if still > 0 and (done or still >= STILL_ROUNDS):
            break
    return _facts(
        p, r, jacobian(p), (low, high), "" if still else f"the sum of squares still fell after {rounds} rounds"
    )


Point = tuple[Array, Array]
Slope = tuple[Index, Array, Array, Array, Array, Array]


def _step(
    residual: Callable[[Array], Array], at: Point, slope: Slope, damping: float
) -> tuple[Array, Array, float, float, float]:
    """One damped step that lowers the sum of squares, or none.

    With it the next damping, the largest relative change of a parameter, and the fall that the step promised.
    """
    (p, r), (move, normal, gradient, scale, low, high) = at, slope
    before = float(r @ r)
    while damping < LAST_DAMPING:
        damped = normal + damping * np.eye(move.size)
        step = np.linalg.solve(damped, -gradient[move] / scale[move])
        promised = float(step @ (normal + 2 * damping * np.eye(move.size)) @ step)
        trial = p.copy()
        trial[move] = np.clip(p[move] + step / scale[move], low[move], high[move])
        with np.errstate(over="ignore", invalid="ignore"):
            r_trial = residual(trial)
            after = float(r_trial @ r_trial)
        if after <= before:
            size = np.maximum(np.abs(p), np.abs(trial))
            change = float(np.max(np.abs(trial - p) / np.where(size > 0, size, 1.0), initial=0.0))
            return trial, r_trial, max(damping / DAMPING_DOWN, 1e-15), change, promised
        if promised <= NEXT_TO_NOTHING * before:
            return p, r, damping, 0.0, promised
        damping *= DAMPING_UP
    return p, r, FIRST_DAMPING, 0.0, 0.0


def _facts(p: Array, r: Array, j: Array, bounds: tuple[Array, Array], why_not: str) -> Fit:
    bound = tuple(int(i) for i in np.flatnonzero((p <= bounds[0]) | (p >= bounds[1])))
    covariance, no_spread = _covariance(j, r, free=[i for i in range(p.size) if i not in bound])
    why_not = no_spread or why_not
    return Fit(p, r, j, None if why_not else covariance, not why_not, why_not, bound)


def _covariance(jacobian: Array, residuals: Array, free: list[int]) -> tuple[Array | None, str]:
    """Covariance of the free parameters (rows of parameters at a bound are zero), or why there is none."""
    if not free:
        return np.zeros((jacobian.shape[1], jacobian.shape[1])), ""
    j = jacobian[:, free]
    size = np.linalg.norm(j, axis=0)
    if np.any(size == 0) or not np.all(np.isfinite(j)):
        return None, "the data do not depend on a parameter here"
    scaled = j / size
    normal = scaled.T @ scaled
    spread = np.linalg.eigvalsh(normal)
    if spread[0] * CONDITION_LIMIT < spread[-1]:
        return None, "the data do not tell two parameters apart"
    degrees = max(1, residuals.size - len(free))
    inverse = np.linalg.inv(normal) / size[:, None] / size[None, :]
    covariance = np.zeros((jacobian.shape[1], jacobian.shape[1]))
    covariance[np.ix_(free, free)] = inverse * float(residuals @ residuals) / degrees
    return covariance, ""
