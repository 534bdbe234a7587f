"""Nonlinear least squares with an exact Jacobian, and what can be said of the result."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from functools import cached_property

import numpy as np

from dampkit.frozen import frozen
from dampkit.quantities import Array, Index, Mask

CONDITION_LIMIT = 1e12  # of the column-scaled normal matrix; beyond it the data do not fix the parameters
FLAT = 1e-14  # share of the largest eigenvalue below which a combination of parameters moves no residual
UNFELT = 1e-6  # residual standard deviations that a factor of e moves, below which a parameter has no effect
FIRST_DAMPING, LAST_DAMPING = 1e-3, 1e16
DAMPING_DOWN, GROWTH = 0.1, 2.0  # least factor after a good step; first factor after a bad one, doubled at each further
SETTLED = 0.1  # of a standard error: how far the predictions of a fit that has settled may still move
WITHIN = 1e-6  # of a standard error: where the search ends unless a caller asks for less
STILL_ROUNDS = 6  # over which movement is watched where a curved valley promises more than a step gains
FAR = 3.0  # times the size of the parameters, both scaled: how far one step may go
LOG_FAR = 2.0  # the same of a logarithm
ROUNDING = 1e-14  # share of the sum of squares below which a promised fall is rounding


@frozen
class Fit:
    """Facts of a fit.

    `at_bound` and `unfelt` are parameters by their place: at an end of their range; without effect on any residual here,
    though they may have one elsewhere.
    `rounds` counts Jacobians, `evaluations` residuals. `still` (N,): what a further undamped step would add to the
    residuals, or the last rounds added, whichever is less.
    """

    start: Array
    parameters: Array
    residuals: Array
    jacobian: Array
    converged: bool
    why_not: str
    at_bound: tuple[int, ...]
    unfelt: tuple[int, ...]
    rounds: int
    evaluations: int
    still: Array

    @property
    def sum_of_squares(self) -> float:
        return float(self.residuals @ self.residuals)

    @property
    def residual_standard_deviation(self) -> float:
        return float(np.sqrt(self.sum_of_squares / max(1, self.residuals.size - self.parameters.size)))

    @cached_property
    def covariance(self) -> Array | None:
        """Of the parameters (K, K), with residuals independent and of equal spread; None where the data do not fix them."""
        free = [i for i in range(self.parameters.size) if i not in self.at_bound]
        return None if self.unfelt else _covariance(self.jacobian, self.residuals, free)

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
    log: Mask | None = None,
    rounds: int = 200,
    within: float = WITHIN,
) -> Fit:
    """Minimise the sum of squared residuals from a start, within bounds.

    residual(p) -> (N,), jacobian(p) -> (N, K). Parameters of `log` are positive and sought by their logarithm; all that
    is given back is of the parameters themselves. Levenberg-Marquardt, parameters scaled by the largest norm that their
    columns had, damping by the gain ratio; bounds by an active set.

    The search ends where no prediction can move by more than `within` of its standard error: by the Cauchy-Schwarz
    inequality, where the undamped step's change of the residuals has a norm of `within` residual standard deviations.
    Source: [more1978] scaling; [nielsen1999] damping; [bates1981] where to end; bounds own. Checked on [nist_strd].
    """
    at = Search.of(residual, jacobian, start, low=low, high=high, log=log)
    why_not = ""
    if not at.ends(within, rounds) and _norm(at.still) > SETTLED * at.spread:
        why_not = f"the predictions still moved after {rounds} rounds"
    return _facts(at, start, why_not)


def _norm(x: Array) -> float:
    return float(np.sqrt(x @ x))


def _sought(p: Array, log: Mask) -> Array:
    """Parameters as the search has them: those of `log` by their logarithm."""
    with np.errstate(divide="ignore"):
        return np.where(log, np.log(np.where(log, np.maximum(p, 0.0), 1.0)), p)


@dataclass
class Search:
    """Where the search stands: the parameters, `q` as sought and `p` themselves, the residuals, the linear model there.

    In the linear model, the parameters `move` that no bound holds are scaled by `scale`. A search that has ended goes on
    where it stands when it is to come closer.
    """

    residual: Callable[[Array], Array]
    jacobian: Callable[[Array], Array]
    bounds: tuple[Array, Array]
    log: Mask
    q: Array
    damping: float = FIRST_DAMPING
    rounds: int = 0
    evaluations: int = 1
    past: list[Array] = field(default_factory=list)  # residuals of the last rounds

    @classmethod
    def of(
        cls,
        residual: Callable[[Array], Array],
        jacobian: Callable[[Array], Array],
        start: Array,
        *,
        low: Array | None = None,
        high: Array | None = None,
        log: Mask | None = None,
    ) -> Search:
        """At a start, within bounds; see `least_squares`."""
        log = np.zeros(start.size, dtype=bool) if log is None else log
        low = np.full(start.size, -np.inf) if low is None else low
        high = np.full(start.size, np.inf) if high is None else high
        bounds = _sought(low, log), _sought(high, log)
        return cls(residual, jacobian, bounds, log, _sought(np.clip(start, low, high), log))

    def __post_init__(self) -> None:
        self.scale = np.zeros(self.q.size)
        self.p = self._themselves(self.q)
        self.r = self.residual(self.p)
        self._linearise()

    def _themselves(self, q: Array) -> Array:
        return np.where(self.log, np.exp(np.where(self.log, q, 0.0)), q)

    @property
    def sum_of_squares(self) -> float:
        return float(self.r @ self.r)

    @property
    def spread(self) -> float:
        """Standard deviation of the residuals."""
        return float(np.sqrt(self.sum_of_squares / max(1, self.r.size - self.q.size)))

    @property
    def at_bound(self) -> Mask:
        return np.asarray((self.q <= self.bounds[0]) | (self.q >= self.bounds[1]))

    @property
    def moved(self) -> Array:
        """What the last rounds added to the residuals; infinite before there were so many."""
        return self.r - self.past[0] if len(self.past) == STILL_ROUNDS else np.full(self.r.size, np.inf)

    @property
    def still(self) -> Array:
        ahead = np.asarray(self.scaled @ self.full)
        return min(ahead, self.moved, key=_norm)

    def _linearise(self) -> None:
        self.rounds += 1
        self.j = self.jacobian(self.p)
        by_q = self.j * np.where(self.log, self.p, 1.0)
        size = np.linalg.norm(by_q, axis=0)
        self.scale = np.maximum(self.scale, size)
        self.unfelt = size <= np.where(self.log, UNFELT * self.spread, 0.0)
        gradient = by_q.T @ self.r
        low, high = self.bounds
        held = ((self.q <= low) & (gradient > 0)) | ((self.q >= high) & (gradient < 0))
        self.move: Index = np.flatnonzero(~held & ~self.unfelt)
        self.scaled = by_q[:, self.move] / self.scale[self.move]
        self.normal = self.scaled.T @ self.scaled
        self.gradient = gradient[self.move] / self.scale[self.move]
        values, self.vectors = np.linalg.eigh(self.normal)
        self.values = np.where(values > FLAT * values.max(initial=0.0), values, 0.0)
        self.along = self.vectors.T @ self.gradient
        full = np.divide(self.along, self.values, out=np.zeros_like(self.along), where=self.values > 0)
        self.full = -self.vectors @ full
        self.promised = -float(self.full @ self.gradient)  # fall of the sum of squares by the undamped step

    def ends(self, within: float, rounds: int) -> bool:
        """Whether no prediction moves by more than `within` of its standard error, or nothing lowers the sum of squares
        any more, after so many rounds at most, those before among them."""
        while self.rounds <= rounds:
            nothing_left = self.promised <= max((within * self.spread) ** 2, ROUNDING * self.sum_of_squares)
            if nothing_left or not self.advance() or _norm(self.moved) <= within * self.spread:
                return True
        return False

    def advance(self) -> bool:
        """One damped step that lowers the sum of squares; False where none does."""
        before, growth = self.sum_of_squares, GROWTH
        reach = FAR * _norm(self.scale * np.where(self.log, 1.0, self.p)) or np.inf
        while self.damping < LAST_DAMPING:
            step = self._step(self.damping)
            scaled = step[self.move] * self.scale[self.move]
            if _norm(scaled) > reach:
                self.damping *= GROWTH
                continue
            fall = -float(scaled @ (2 * self.gradient + self.normal @ scaled))
            if abs(fall) <= ROUNDING * before:
                return False
            trial = self._themselves(self.q + step)
            with np.errstate(over="ignore", invalid="ignore"):
                r = self.residual(trial)
                after = float(r @ r)
            self.evaluations += 1
            if after < before and fall > 0:
                gain = min((before - after) / fall, 1.0)
                self.damping = max(self.damping * max(DAMPING_DOWN, 1 - (2 * gain - 1) ** 3), 1e-15)
                self.past = [*self.past[1 - STILL_ROUNDS :], self.r]
                self.q, self.p, self.r = self.q + step, trial, r
                self._linearise()
                return True
            self.damping, growth = self.damping * growth, growth * 2
        return False

    def _step(self, damping: float) -> Array:
        """A damped step within the bounds, logarithms by no more than LOG_FAR; where it meets these ends, the other
        parameters are solved for again."""
        step = np.zeros(self.q.size)
        step[self.move] = -(self.vectors @ (self.along / (self.values + damping))) / self.scale[self.move]
        low, high = (bound - self.q for bound in self.bounds)
        low, high = (
            np.where(self.log, np.maximum(low, -LOG_FAR), low),
            np.where(self.log, np.minimum(high, LOG_FAR), high),
        )
        met = ((step < low) | (step > high))[self.move]
        step = np.clip(step, low, high)
        if met.any() and not met.all():
            rest = self.move[~met]
            fixed = (step[self.move] * self.scale[self.move])[met]
            damped = self.normal[np.ix_(~met, ~met)] + damping * np.eye(rest.size)
            pull = self.gradient[~met] + self.normal[np.ix_(~met, met)] @ fixed
            step[rest] = -np.linalg.solve(damped, pull) / self.scale[rest]
            step = np.clip(step, low, high)
        return step


def _facts(at: Search, start: Array, why_not: str) -> Fit:
    bound = tuple(int(i) for i in np.flatnonzero(at.at_bound))
    unfelt = tuple(int(i) for i in np.flatnonzero(at.unfelt & ~at.at_bound))
    if not np.all(np.isfinite(at.j)):
        why_not = "the slopes are not finite here"
    return Fit(
        start=start,
        parameters=at.p,
        residuals=at.r,
        jacobian=at.j,
        converged=not why_not,
        why_not=why_not,
        at_bound=bound,
        unfelt=unfelt,
        rounds=at.rounds,
        evaluations=at.evaluations,
        still=at.still,
    )


def _covariance(jacobian: Array, residuals: Array, free: list[int]) -> Array | None:
    """Covariance of the free parameters (rows of parameters at a bound are zero), None where there is none."""
    j = jacobian[:, free]
    size = np.linalg.norm(j, axis=0)
    scaled = j / size
    normal = scaled.T @ scaled
    spread = np.linalg.eigvalsh(normal)
    if spread.size and spread[0] * CONDITION_LIMIT < spread[-1]:
        return None
    degrees = max(1, residuals.size - len(free))
    with np.errstate(over="ignore"):
        inverse = np.linalg.inv(normal) / size[:, None] / size[None, :]
    if not np.isfinite(inverse).all():  # a column so small that nothing fixes its parameter
        return None
    covariance = np.zeros((jacobian.shape[1], jacobian.shape[1]))
    covariance[np.ix_(free, free)] = inverse * float(residuals @ residuals) / degrees
    return covariance
