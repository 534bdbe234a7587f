"""The joint fit: choose each direction's valve model, then fit valves, gas, friction, mass and lag together."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from functools import cached_property

import numpy as np

from dampkit.curves.loop import Loop
from dampkit.damper import start
from dampkit.damper.choice import APART, ROUGHLY, fit_model, valve_model
from dampkit.damper.least_squares import Fit
from dampkit.damper.model import Model
from dampkit.damper.points import SLOW_M_S, Points, fitted_points
from dampkit.frozen import frozen
from dampkit.quantities import Array, distinct

SPREAD_SHARE = 0.002  # of the force: what a law this simple cannot follow; keeps large forces from ruling the fit
FINEST_SHARE = 1e-4  # of the largest force: no law holds closer, however still the bench
FRICTION_SPEED_M_S = 0.003  # smoothing speed of friction where no slow pass shows it
TELLING_APART = 1.5  # ratio of frequencies from which mass is told from gas spring, and delay from compliance
WEIGHTINGS = 2  # rounds of weighing each stage and direction by what the model leaves over there
BEND_FROM = 0.003  # share of the force that a law leaves over from which an opening exponent may be taken ...
EXPLAINED = 0.5  # ... and what of it may be left with one: a quarter of the variance
BEND_ROUNDS = 25
AS_WELL = 0.001  # share of the force: two laws that leave over alike
DIGRESSIVE = 0.7  # exponent to begin from where a stop of the lift was chosen
LEAST_SHARE = 0.2  # of a direction's greatest force: what a stage leaves over is not held against less
STILL_SHARE = 1e-3  # of the largest force: what the forces of a fit that has settled may still move
TAKEN_OUT = {
    "mass_kg": 10.0,
    "delay_s": 0.005,
}  # of a log, where established; none has more; common practice, no source
LIFT = ("blowoff_force", "lift_rate", "exponent")
LIFTING = {*LIFT, "open", "knee_n"}
OVER_NOISE, OPEN_POINTS = (
    4.0,
    8,
)  # standard deviations above the blow-off force, and at how many points: a valve that opens
THIN = 5  # the choice of a model is made on every so manieth point; the fit itself on all


@frozen
class JointFit:
    """The fitted model with the points it stands on.

    `regimes` names what each direction's model holds; `rivals` the blow-off force of another optimum that fits about as
    well; `lift_unsure` the directions whose blow-off force, lift and exponent can move together without the forces moving.
    """

    model: Model
    fit: Fit
    sigma_n: Array
    points: Points
    regimes: dict[str, tuple[str, ...]]
    rivals: dict[str, float]
    lift_unsure: tuple[str, ...] = ()

    @property
    def free_values(self) -> dict[str, float]:
        return {name: float(x) for name, x in zip(self.model.free, self.fit.parameters, strict=True)}

    @property
    def values(self) -> dict[str, float]:
        return self.model.fixed | self.free_values

    def blowoff_n(self, direction: str) -> float:
        return self.values[f"{direction}.blowoff_force"]

    def top_n(self, direction: str) -> float:
        """Greatest force measured in a direction, gas out."""
        return float(self._reading_n[self.points.direction == start.SIGN[direction]].max(initial=0.0))

    @cached_property
    def _reading_n(self) -> Array:
        p, v = self.points, self.values
        return np.abs(p.force_n + v["gas_n"] - v["gas_n_m"] * p.displacement_m)

    @property
    def at_bound(self) -> tuple[str, ...]:
        return tuple(self.model.free[i] for i in self.fit.at_bound)

    @property
    def not_told_apart(self) -> tuple[tuple[str, ...], ...]:
        """Parameters that the forces do not fix: together, or each alone where it has no effect on them."""
        together = [tuple(f"{direction}.{name}" for name in LIFT) for direction in self.lift_unsure]
        return (*together, *((self.model.free[i],) for i in self.fit.unfelt))

    @property
    def settled(self) -> bool:
        """No modelled force would still move by a tenth of its standard error or a thousandth of the largest."""
        still_n = float(np.abs(self.fit.still * self.sigma_n).max(initial=0.0))
        return self.fit.converged and still_n <= STILL_SHARE * float(self._reading_n.max(initial=0.0))

    @property
    def why_not_settled(self) -> str:
        return "" if self.settled else self.fit.why_not or "the forces still moved at the end"

    @cached_property
    def leftover_share(self) -> dict[str, float]:
        """By direction: what the law leaves over beyond noise, root mean square over the stages, each as a share of its
        force, or of a fifth of the greatest where that is more."""
        p = self.points
        left_n = _misfit_n(self.fit.residuals * self.sigma_n, p)
        out = {}
        for direction, sign in start.SIGN.items():
            rows, floor = p.direction == sign, LEAST_SHARE * self.top_n(direction)
            blocks = [rows & (p.stage == stage) for stage in distinct(p.stage[rows])]
            force_n = [float(np.sqrt(np.mean(self._reading_n[b] ** 2))) for b in blocks]
            shares = [float(left_n[b][0]) / max(n, floor) for b, n in zip(blocks, force_n, strict=True)]
            out[direction] = float(np.sqrt(np.mean(np.square(shares)))) if shares else 0.0
        return out


def joint_fit(loops: tuple[Loop, ...], resolution_n: float, held: Mapping[str, float] | None = None) -> JointFit | None:
    """Fit everything at once; None where no direction has a stage faster than a slow pass.

    `held`: what both directions share and is known or to be left in, by name, at the value where it stands unfitted.
    """
    points = fitted_points(loops, resolution_n)
    gas, friction = start.statics(loops)
    gas_out_n = np.abs(points.force_n + gas)  # so that neither gas nor an offset of the cell weighs
    finest_n = FINEST_SHARE * float(gas_out_n.max(initial=0.0))
    points = replace(points, sigma_n=np.maximum(points.sigma_n, finest_n))
    sigma = np.hypot(points.sigma_n, SPREAD_SHARE * gas_out_n)
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
        best, regimes[direction], rival = valve_model(
            direction, statics, points.where(thin), sigma[thin], start.candidates(speed, force)
        )
        chosen |= best
        rivals |= {} if rival is None else {direction: rival}
    values = {**common, **chosen}
    model = Model(tuple(values), fixed)
    joint = _felt(JointFit(model, *_weighed(model, values, points, sigma), points, regimes, rivals), sigma)
    joint = _bent(_opened(joint, sigma), sigma)
    taken = {name: abs(joint.free_values[name]) for name in TAKEN_OUT.keys() & joint.free_values.keys()}
    if not taken or (joint.settled and all(size <= TAKEN_OUT[name] for name, size in taken.items())):
        return joint
    return joint_fit(loops, resolution_n, dict.fromkeys(TAKEN_OUT, 0.0) | dict(held or {}))


def _weighed(model: Model, values: dict[str, float], points: Points, sigma: Array) -> tuple[Fit, Array]:
    """The fit with each stage and direction weighed by what the model leaves over there, and these weights."""
    for _ in range(WEIGHTINGS):
        fit = fit_model(model, values, points, sigma, within=ROUGHLY)
        values = dict(zip(values, (float(x) for x in fit.parameters), strict=True))
        sigma = np.hypot(points.sigma_n, _misfit_n(fit.residuals * sigma, points))
    return fit_model(model, values, points, sigma), sigma


def _felt(joint: JointFit, sigma: Array) -> JointFit:
    """Without a stop of the lift, or a lift, that lies beyond the forces measured and changes none of them."""
    unfelt = {joint.model.free[i] for i in joint.fit.unfelt}
    drop: set[str] = set()
    regimes = dict(joint.regimes)
    for direction in start.SIGN:
        if unfelt & {f"{direction}.blowoff_force", f"{direction}.lift_rate"}:
            drop |= {f"{direction}.{name}" for name in LIFTING}
            regimes[direction] = ("bleed",)
        elif f"{direction}.open" in unfelt:
            drop.add(f"{direction}.open")
            regimes[direction] = ("bleed", "blow-off")
    return _without(joint, drop, regimes, sigma) if drop else joint


def _opened(joint: JointFit, sigma: Array) -> JointFit:
    """Without a lift that only the noise of a plateau makes, where the law without one leaves no more over."""
    for d in start.SIGN:
        if f"{d}.lift_rate" in joint.model.free and not _opens(joint, d):
            regimes = joint.regimes | {d: ("bleed",)}
            shut = _without(joint, {f"{d}.{name}" for name in LIFTING}, regimes, sigma)
            if shut.leftover_share[d] < joint.leftover_share[d] + AS_WELL:
                joint = shut
    return joint


def _without(joint: JointFit, drop: set[str], regimes: dict[str, tuple[str, ...]], sigma: Array) -> JointFit:
    """The fit again without some parameters."""
    values = {name: x for name, x in joint.free_values.items() if name not in drop}
    model = Model(tuple(values), joint.model.fixed)
    return JointFit(model, *_weighed(model, values, joint.points, sigma), joint.points, regimes, joint.rivals)


def _opens(joint: JointFit, direction: str) -> bool:
    """Whether forces lie surely above the blow-off force: on a plateau of speed, noise alone would lift a valve."""
    rows = joint.points.direction == start.SIGN[direction]
    over_n = joint._reading_n[rows] - joint.values["friction_n"] - joint.blowoff_n(direction)
    return int(np.count_nonzero(over_n > OVER_NOISE * joint.points.sigma_n[rows])) >= OPEN_POINTS


def _bent(joint: JointFit, sigma: Array) -> JointFit:
    """With an opening exponent in each direction where it explains most of what a lift in proportion leaves over.

    Where it does not, yet has the blow-off force elsewhere and fits as well, the forces do not tell opening force and
    lift apart; nor where the blow-off force lies above all forces measured.
    """
    directions = [d for d in start.SIGN if f"{d}.lift_rate" in joint.model.free]
    if not directions:
        return joint
    tried = _with_exponents(joint, directions)
    left, bent = joint.leftover_share, tried.leftover_share
    wanted = [d for d in directions if left[d] > BEND_FROM and bent[d] < EXPLAINED * left[d]]
    if wanted:
        tried = tried if wanted == directions else _with_exponents(joint, wanted)
        fit, weights = _weighed(tried.model, tried.free_values, joint.points, sigma)
        regimes = joint.regimes | {d: ("bleed", "blow-off") for d in wanted}
        joint = replace(tried, fit=fit, sigma_n=weights, regimes=regimes)
    unsure = [
        d
        for d in directions
        if joint.blowoff_n(d) > joint.top_n(d)
        or (
            d not in wanted and bent[d] < left[d] + AS_WELL and abs(tried.blowoff_n(d) / joint.blowoff_n(d) - 1) > APART
        )
    ]
    return replace(joint, lift_unsure=tuple(unsure))


def _with_exponents(joint: JointFit, directions: list[str]) -> JointFit:
    """The joint fit, weights as they are, with the exponents of some directions free and their lift without a stop.

    A stop is what a lift in proportion makes of a digressive one.
    """
    stops = {f"{d}.open" for d in directions}
    exponents = {f"{d}.exponent": DIGRESSIVE if f"{d}.open" in joint.model.free else 1.0 for d in directions}
    values = {name: x for name, x in joint.free_values.items() if name not in stops} | exponents
    model = Model(tuple(values), joint.model.fixed)
    fit = fit_model(model, values, joint.points, joint.sigma_n, ROUGHLY, BEND_ROUNDS)
    return replace(joint, model=model, fit=fit)


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
