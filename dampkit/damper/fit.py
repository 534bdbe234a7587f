"""The joint fit: choose each direction's valve model, then fit valves, gas, friction, mass and lag together."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from dampkit.curves.loop import Loop
from dampkit.damper import start
from dampkit.damper.least_squares import Fit, least_squares
from dampkit.damper.model import Model, Prediction
from dampkit.damper.points import SLOW_M_S, Points, fitted_points
from dampkit.quantities import Array

SPREAD_SHARE = 0.002  # of the force: what a law this simple cannot follow; keeps large forces from ruling the fit
FINEST_SHARE = 1e-4  # of the largest force: no law holds closer, however still the bench
FRICTION_SPEED_M_S = 0.003  # smoothing speed of friction where no slow pass shows it
TELLING_APART = 1.5  # ratio of frequencies from which mass is told from gas spring, and delay from compliance
CHOICE_ROUNDS = 40  # of a fit that only serves to choose a model
WEIGHTINGS = 2  # rounds of weighing each stage and direction by what the model leaves over there
KNEE_SHARE = 0.01  # of the blow-off force: first width of the knee
KEEP_BEST = 2
NO_EVIDENCE = 2.0  # difference of the criterion not worth more than a bare mention; [kass1995]
APART = 0.1  # share by which blow-off forces differ in two optima worth telling of
WITHIN = 0.01  # of a standard error of the predicted forces: where a fit may end ...
ROUGHLY = 0.1  # ... and one that only serves to choose or to weigh
# what is positive, sought by its logarithm, and the least that it may be
LEAST = {
    "bleed": 1e-7,
    "blowoff_force": 1.0,
    "knee_n": 0.1,
    "lift_rate": 1e-12,
    "open": 1e-7,
    "friction_speed_m_s": 1e-6,
    "exponent": 0.2,
}
SLOWEST = 4  # points next to a reversal in a loop: a smoothing speed of friction far below theirs shows in no force
ADEQUATE = 2.0  # mean square of the residuals up to which a law leaves no more over than it may, noise counted
BEND_FROM = 0.003  # share of the force that a law leaves over from which an opening exponent is tried ...
EXPLAINED = 0.5  # ... and what of it may be left with one: a quarter of the variance
DIGRESSIVE = 0.7  # exponent to begin from where a stop of the lift was chosen
LEAST_SHARE = 0.2
THIN = 5  # the choice of a model is made on every so manieth point; the fit itself on all


@dataclass(frozen=True)
class JointFit:
    """The fitted model with the points it stands on. `regimes` names what each direction's model holds."""

    model: Model
    fit: Fit
    points: Points
    sigma_n: Array
    regimes: dict[str, tuple[str, ...]]
    rivals: dict[str, float]  # by direction: blow-off force of another optimum that fits about as well

    @property
    def values(self) -> dict[str, float]:
        return self.model.values(self.fit.parameters)

    @property
    def free_values(self) -> dict[str, float]:
        return {name: float(x) for name, x in zip(self.model.free, self.fit.parameters, strict=True)}

    @cached_property
    def leftover_share(self) -> dict[str, float]:
        """By direction: what the law leaves over beyond noise, root mean square over the stages, each as a share of its
        force, or of a fifth of the greatest where that is more."""
        left_n, force_n = _misfit_n(self.fit.residuals * self.sigma_n, self.points), np.abs(self.hydraulic_n)
        out = {}
        for direction, sign in start.SIGN.items():
            rows = (self.points.direction == sign) & (force_n > 0)
            floor = LEAST_SHARE * float(force_n[rows].max(initial=0.0))
            blocks = [rows & (self.points.stage == stage) for stage in np.unique(self.points.stage[rows])]
            shares = [float(left_n[b][0]) / max(float(np.sqrt(np.mean(force_n[b] ** 2))), floor) for b in blocks]
            out[direction] = float(np.sqrt(np.mean(np.square(shares)))) if shares else 0.0
        return out

    @cached_property
    def hydraulic_n(self) -> Array:
        """The valves' part of the fitted force at the points, signed; shape (N,)."""
        out = np.zeros(self.points.force_n.size)
        moved = self.points.earlier(self.values.get("delay_s", 0.0))
        for direction, sign in start.SIGN.items():
            rows = np.flatnonzero((self.points.direction == sign) & (sign * moved.velocity_m_s > 0))
            valve = self.model.valve(self.fit.parameters, direction)
            through = moved.velocity_m_s[rows] * sign
            out[rows] = sign * valve.force(through)
        return out


def joint_fit(loops: tuple[Loop, ...], resolution_n: float, held: Mapping[str, float] | None = None) -> JointFit | None:
    """Fit everything at once; None where no direction has a stage faster than a slow pass.

    `held`: what both directions share and is known or to be left in, by name, at the value where it stands unfitted.
    """
    points = fitted_points(loops, resolution_n)
    finest_n = FINEST_SHARE * float(np.abs(points.force_n).max(initial=0.0))
    points = replace(points, sigma_n=np.maximum(points.sigma_n, finest_n))
    sigma = np.hypot(points.sigma_n, SPREAD_SHARE * points.force_n)
    gas, friction = start.statics(loops)
    common, fixed = _common(loops, gas, friction)
    fixed |= dict(held or {})
    common = {name: value for name, value in common.items() if name not in fixed}
    chosen: dict[str, float] = {}
    regimes: dict[str, tuple[str, ...]] = {}
    rivals: dict[str, float] = {}
    for direction in start.MIDDLE:
        speed, force = start.peaks(loops, direction, gas, friction)
        rows = (points.direction == start.SIGN[direction]) & (np.abs(points.velocity_m_s) >= 0.5 * SLOW_M_S)
        if speed.size == 0 or not rows.any():
            return None
        thin = np.flatnonzero(rows)[::THIN]
        statics = {**fixed, **common, "friction_speed_m_s": FRICTION_SPEED_M_S}
        best, regimes[direction], rival = _choose(
            direction, statics, points.where(thin), sigma[thin], start.candidates(speed, force)
        )
        chosen |= best
        rivals |= {} if rival is None else {direction: rival}
    values = {**common, **chosen}
    joint = _weighed(Model(tuple(values), fixed), values, points, sigma, regimes, rivals)
    return _bent(joint, sigma)


def _weighed(
    model: Model,
    values: dict[str, float],
    points: Points,
    sigma: Array,
    regimes: dict[str, tuple[str, ...]],
    rivals: dict[str, float],
) -> JointFit:
    """The fit with each stage and direction weighed by what the model leaves over there."""
    for _ in range(WEIGHTINGS):
        fit = _fit(model, values, points, sigma, within=ROUGHLY)
        values = dict(zip(values, (float(x) for x in fit.parameters), strict=True))
        sigma = np.hypot(points.sigma_n, _misfit_n(fit.residuals * sigma, points))
    return JointFit(model, _fit(model, values, points, sigma), points, sigma, regimes, rivals)


def _bent(joint: JointFit, sigma: Array) -> JointFit:
    """With an opening exponent in each direction where it explains most of what a lift in proportion leaves over."""
    for direction, left in joint.leftover_share.items():
        values, stop = joint.free_values, f"{direction}.open"
        if left < BEND_FROM or f"{direction}.lift_rate" not in values:
            continue
        begin = DIGRESSIVE if stop in values else 1.0  # a stop is what a lift in proportion makes of a digressive one
        values = {name: x for name, x in values.items() if name != stop} | {f"{direction}.exponent": begin}
        model = Model(tuple(values), joint.model.fixed)
        tried = replace(joint, model=model, fit=_fit(model, values, joint.points, joint.sigma_n, within=ROUGHLY))
        if tried.leftover_share[direction] < EXPLAINED * left:
            regimes = joint.regimes | {direction: ("bleed", "blow-off")}
            joint = _weighed(model, tried.free_values, joint.points, sigma, regimes, joint.rivals)
    return joint


def _common(loops: tuple[Loop, ...], gas_n: float, friction_n: float) -> tuple[dict[str, float], dict[str, float]]:
    """Starts of what both directions share, and what stands fixed because the programme of stages cannot tell it."""
    common = {"gas_n": gas_n, "gas_n_m": 0.0, "gas_n_m2": 0.0, "friction_n": friction_n}
    fixed = {}
    if any(loop.peak_velocity_m_s < SLOW_M_S for loop in loops):
        common["friction_speed_m_s"] = FRICTION_SPEED_M_S
    else:
        fixed["friction_speed_m_s"] = FRICTION_SPEED_M_S
    frequencies = sorted(loop.stage.frequency_hz for loop in loops if loop.peak_velocity_m_s >= SLOW_M_S)
    if len(frequencies) > 1 and frequencies[-1] > TELLING_APART * frequencies[0]:
        common |= {"mass_kg": 0.0, "delay_s": 0.0}
    return common, fixed


def _misfit_n(residual_n: Array, points: Points) -> Array:
    """What the model leaves over beyond noise, as one standard deviation for each stage and direction; shape (N,)."""
    block = (2 * points.stage + (points.direction > 0)).astype(np.intp)
    count = np.maximum(np.bincount(block), 1)
    excess = np.bincount(block, residual_n**2 - points.sigma_n**2) / count
    return np.sqrt(np.maximum(excess, 0.0))[block]


def _choose(
    direction: str, statics: dict[str, float], points: Points, sigma: Array, starts: list[dict[str, float]]
) -> tuple[dict[str, float], tuple[str, ...], float | None]:
    """The valve model of one direction, statics held: its values, the regimes it holds, the blow-off force of a rival.

    A stop of the lift is tried only where a lift without one leaves more than its share over; an information criterion
    decides.
    """
    named = [{f"{direction}.{k}": v for k, v in {**s, **_shared_start(s)}.items()} for s in starts]
    rate, stop = f"{direction}.lift_rate", f"{direction}.open"
    plain = _best_of([s for s in named if rate not in s], statics, points, sigma)
    kneed = _best_of([s for s in named if rate in s and stop not in s], statics, points, sigma)
    options = [(plain, ("bleed",)), (kneed, ("bleed", "blow-off"))]
    if kneed is not None and kneed[1].sum_of_squares > ADEQUATE * points.force_n.size:
        opened = _best_of([s for s in named if stop in s], statics, points, sigma)
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


def _best_of(starts: list[dict[str, float]], statics: dict[str, float], points: Points, sigma: Array) -> Option | None:
    """Of several starts the fit with the smallest sum of squares; hopeless starts are dropped unfitted."""
    ranked = sorted(starts, key=lambda s: _misfit(Model(tuple(s), statics), s, points, sigma))[:KEEP_BEST]
    fits = [(s, _fit(Model(tuple(s), statics), s, points, sigma, CHOICE_ROUNDS, ROUGHLY)) for s in ranked]
    if not fits:
        return None
    solved = [(dict(zip(s, (float(p) for p in fit.parameters), strict=True)), fit) for s, fit in fits]
    (values, fit), *others = sorted(solved, key=lambda f: f[1].sum_of_squares)
    return values, fit, others


def _misfit(model: Model, values: dict[str, float], points: Points, sigma: Array) -> float:
    residual = (model.force(np.array(list(values.values())), points) - points.force_n) / sigma
    return float(residual @ residual)


def _fit(
    model: Model, values: dict[str, float], points: Points, sigma: Array, rounds: int = 200, within: float = WITHIN
) -> Fit:
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
    slow = np.abs(points.velocity_m_s)
    least = LEAST | {"friction_speed_m_s": 0.5 * float(np.partition(slow, min(SLOWEST, slow.size) - 1)[SLOWEST - 1])}
    at_zero = {"friction_n", "leak", "compliance", "loss"}
    return np.array([least.get(_tail(name), 0.0 if _tail(name) in at_zero else -np.inf) for name in model.free])


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
