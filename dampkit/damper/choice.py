"""Which valve model a direction needs: bleed, blow-off, fully open; and the fit of any model to points."""

from __future__ import annotations

import numpy as np

from dampkit.damper.least_squares import Fit, least_squares
from dampkit.damper.model import Model, Prediction
from dampkit.damper.points import Points
from dampkit.quantities import Array

CHOICE_ROUNDS = 40  # of a fit that only serves to choose a model
KNEE_SHARE = 0.05  # of the blow-off force: first width of the knee
KEEP_BEST = 2
NO_EVIDENCE = 2.0  # difference of the criterion not worth more than a bare mention; [kass1995]
APART = 0.1  # share by which blow-off forces differ in two optima worth telling of
WITHIN = 0.01  # of a standard error of the predicted forces: where a fit may end ...
ROUGHLY = 0.1  # ... and one that only serves to choose or to weigh
ADEQUATE = 2.0  # mean square of the residuals up to which a law leaves no more over than it may, noise counted
# what is positive, sought by its logarithm, and the least that it may be
LEAST = {
    "bleed": 1e-7,
    "blowoff_force": 1.0,
    "knee_n": 0.1,
    "lift_rate": 1e-12,
    "open": 1e-7,
    "exponent": 0.2,
    "friction_speed_m_s": 1e-6,
}
AT_ZERO = {"friction_n", "leak", "compliance", "loss"}  # may be zero, and no less
SLOWEST = 4  # points next to the reversals of a loop: friction sharper than half their speed shows in no force


def valve_model(
    direction: str, statics: dict[str, float], points: Points, sigma: Array, starts: list[dict[str, float]]
) -> tuple[dict[str, float], tuple[str, ...], float | None]:
    """The valve model of one direction, statics held: its values, the regimes it holds, the blow-off force of a rival.

    A stop of the lift is tried only where a lift without one leaves more than its share over; an information criterion
    decides.
    """
    named = [{f"{direction}.{k}": v for k, v in {**s, **_shared_start(s)}.items()} for s in starts]
    rate, stop = f"{direction}.lift_rate", f"{direction}.open"
    plain = best_of([s for s in named if rate not in s], statics, points, sigma)
    kneed = best_of([s for s in named if rate in s and stop not in s], statics, points, sigma)
    options = [(plain, ("bleed",)), (kneed, ("bleed", "blow-off"))]
    if kneed is not None and kneed[1].sum_of_squares > ADEQUATE * points.force_n.size:
        opened = best_of([s for s in named if stop in s], statics, points, sigma)
        options.append((opened, ("bleed", "blow-off", "fully-open")))
    known = [(o, regimes) for o, regimes in options if o is not None]
    closest = min((o[1] for o, _ in known), key=lambda fit: fit.sum_of_squares)
    n = effective_size(closest.residuals, points.stage)
    option, regimes = min(known, key=lambda k: _criterion(k[0][1], n))
    return option[0], regimes, _rival(option, n, direction)


def _rival(option: Option, n: float, direction: str) -> float | None:
    """Blow-off force of another start's optimum that is as likely within the criterion's small change, or None."""
    values, fit, others = option
    name = f"{direction}.blowoff_force"
    for other, other_fit in others:
        close = _criterion(other_fit, n) - _criterion(fit, n) < NO_EVIDENCE
        if close and name in values and abs(other[name] / values[name] - 1) > APART:
            return other[name]
    return None


def _shared_start(start_values: dict[str, float]) -> dict[str, float]:
    """Starts of what every valve model has: the series spring, a loss, and a knee's width where it has a knee."""
    shared = {"compliance": 1e-7, "loss": 0.0}
    if "blowoff_force" in start_values:
        shared["knee_n"] = KNEE_SHARE * start_values["blowoff_force"]
    return shared


Option = tuple[dict[str, float], Fit, list[tuple[dict[str, float], Fit]]]


def best_of(starts: list[dict[str, float]], statics: dict[str, float], points: Points, sigma: Array) -> Option | None:
    """Of several starts of one model the fit with the smallest sum of squares; hopeless starts are dropped unfitted."""
    if not starts:
        return None
    model = Model(tuple(starts[0]), statics)
    residual = (model.force(np.array([[*s.values()] for s in starts]), points) - points.force_n) / sigma
    ranked = [starts[i] for i in np.argsort(np.sum(residual**2, axis=1), kind="stable")[:KEEP_BEST]]
    fits = [(s, fit_model(model, s, points, sigma, ROUGHLY, CHOICE_ROUNDS)) for s in ranked]
    solved = [(dict(zip(s, (float(p) for p in fit.parameters), strict=True)), fit) for s, fit in fits]
    (values, fit), *others = sorted(solved, key=lambda f: f[1].sum_of_squares)
    return values, fit, others


def fit_model(
    model: Model, values: dict[str, float], points: Points, sigma: Array, within: float = WITHIN, rounds: int = 200
) -> Fit:
    """Least squares of a model on points, each weighed by its standard deviation `sigma`, from given values."""
    on = Prediction(model, points)
    return least_squares(
        lambda p: (on.force(p) - points.force_n) / sigma,
        lambda p: on.jacobian(p) / sigma[:, None],
        np.array([values[name] for name in model.free]),
        low=lowest(model, points),
        log=np.array([_tail(name) in LEAST for name in model.free]),
        rounds=rounds,
        within=within,
    )


def lowest(model: Model, points: Points) -> Array:
    """Least value that each free parameter may have; shape (K,)."""
    slow = np.sort(np.abs(points.velocity_m_s))[:SLOWEST]
    least = LEAST | dict.fromkeys(AT_ZERO, 0.0) | {"friction_speed_m_s": max(0.5 * float(slow[-1]), 1e-6)}
    return np.array([least.get(_tail(name), -np.inf) for name in model.free])


def _tail(name: str) -> str:
    return name.rpartition(".")[2]


def _criterion(fit: Fit, n: float) -> float:
    """Bayesian information criterion on an effective sample size n; smaller is better. Source: [schwarz1978]."""
    return n * float(np.log(max(fit.sum_of_squares, 1e-300) / fit.residuals.size)) + fit.parameters.size * float(
        np.log(n)
    )


def effective_size(residuals: Array, stage: Array) -> float:
    """Number of independent residuals that neighbours' correlation leaves: n (1 - r) / (1 + r).

    Source: [bayley1946] for a first-order correlated series.
    """
    same = stage[1:] == stage[:-1]
    r = residuals - residuals.mean()
    correlation = float(np.sum((r[1:] * r[:-1])[same]) / max(float(r @ r), 1e-300))
    correlation = min(max(correlation, 0.0), 0.995)
    return max(8.0, residuals.size * (1 - correlation) / (1 + correlation))
