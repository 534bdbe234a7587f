"""The valve law through points of speed and force: few numbers, so few parameters, and friction only where they tell it."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from dampkit.damper.choice import NO_EVIDENCE, Option, best_of, fit_model
from dampkit.damper.fit import JointFit
from dampkit.damper.least_squares import FLAT, Fit
from dampkit.damper.model import Model
from dampkit.damper.points import Points
from dampkit.damper.reading import REPEATS
from dampkit.damper.start import candidates
from dampkit.damper.unit import Reading, Regime
from dampkit.quantities import SIGN, Z95, Array, Direction

NO_MORE = {"gas_n": 0.0, "gas_n_m": 0.0, "friction_speed_m_s": 1e-4}  # gas is out of the readings; friction is full
CLOSE = 0.04  # mean square of the residuals (0.2 % of the force) below which no law is closer than another
SHAPES: tuple[tuple[tuple[str, ...], tuple[Regime, ...]], ...] = (
    (("leak", "bleed"), ("bleed",)),
    (("leak", "bleed", "blowoff_force", "lift_rate"), ("bleed", "blow-off")),
    (("leak", "bleed", "blowoff_force", "lift_rate", "exponent"), ("bleed", "blow-off")),
    (("leak", "bleed", "blowoff_force", "lift_rate", "open"), ("bleed", "blow-off", "fully-open")),
)
FRICTION = "friction_n"


def fit_readings(readings: Mapping[Direction, Reading], friction_n: float, free: bool) -> JointFit | None:
    """One law a direction and one friction for both; None where a direction has fewer than two speeds.

    `friction_n`: where the friction begins; it stays there unless it is `free`. In each direction the shape with the
    least criterion of those that have fewer parameters than it has speeds. Source: own; criterion [schwarz1978].
    """
    if not readings or min(r.velocity_m_s.size for r in readings.values()) < 2:
        return None
    points = _points(readings)
    sigma = np.hypot(points.sigma_n, REPEATS * points.force_n)
    start = {FRICTION: friction_n} if free else {}
    fixed = NO_MORE | ({} if free else {FRICTION: friction_n})
    chosen: dict[str, float] = {}
    regimes: dict[str, tuple[str, ...]] = {}
    friction: list[float] = []
    for direction in readings:
        rows = np.flatnonzero(points.direction == SIGN[direction])
        best, regimes[direction] = _shape(direction, start, fixed, points.where(rows), sigma[rows])
        friction += [best.pop(FRICTION)] if free else []
        chosen |= best
    values = ({FRICTION: float(np.mean(friction))} if free else {}) | chosen
    model = Model(tuple(values), fixed)
    return JointFit(model, fit_model(model, values, points, sigma), sigma, points, regimes, {})


def spread_of(joint: JointFit) -> Array:
    """Covariance (K, K) of the free parameters: noise, or what the laws leave over where that is more.

    Rows of parameters at a bound, or that no force feels, are zero. Source: [jcgm100] 5.2; least squares.
    """
    fit = joint.fit
    size = np.linalg.norm(fit.jacobian, axis=0)
    free = [i for i in range(size.size) if size[i] > 0 and i not in fit.at_bound and i not in fit.unfelt]
    out = np.zeros((size.size, size.size))
    if not free:
        return out
    j = fit.jacobian[:, free] / size[free]
    values, vectors = np.linalg.eigh(j.T @ j)
    inverse = (vectors / np.maximum(values, values[-1] * FLAT)) @ vectors.T
    left = max(1.0, fit.sum_of_squares / max(1, fit.residuals.size - len(free)))
    out[np.ix_(free, free)] = left * inverse / np.outer(size[free], size[free])
    return out


def through_points(speed_m_s: Array, read: Reading, friction_n: float) -> tuple[Array, Array]:
    """Hydraulic force at speeds from 0 on and its 95 % half-width, drawn through the points alone; both shape (K,).

    Nothing at rest; smooth between, and rising wherever the points rise: the monotone cubic of [fritsch1980] over the
    root of speed, in which an orifice and a blow-off are nearly straight.
    """
    from scipy.interpolate import PchipInterpolator  # takes a while to import, and few records ask for it

    at = np.sqrt(np.append(0.0, read.velocity_m_s))
    force = np.append(0.0, np.maximum(read.force_n - friction_n, 0.0))
    half = np.append(0.0, 0.5 * (read.high_n - read.low_n))
    root = np.sqrt(speed_m_s)
    drawn, straight = np.asarray(PchipInterpolator(at, force)(root)), np.interp(root, at, force)
    return drawn, np.hypot(np.interp(root, at, half), drawn - straight)


def _points(readings: Mapping[Direction, Reading]) -> Points:
    """As the loop's points, without place, inertia and force rate; each point a stage of its own."""
    signs = np.concatenate([np.full(r.velocity_m_s.size, SIGN[d]) for d, r in readings.items()])
    v = np.concatenate([r.velocity_m_s for r in readings.values()])
    f = np.concatenate([r.force_n for r in readings.values()])
    sigma = np.concatenate([0.5 * (r.high_n - r.low_n) / Z95 for r in readings.values()])
    none = np.zeros(v.size)
    stage = np.arange(v.size, dtype=np.float64)
    return Points(signs * v, signs * f, none, none, none, none, np.maximum(sigma, 1e-9), stage)


def _shape(
    direction: str, start: dict[str, float], fixed: dict[str, float], points: Points, sigma: Array
) -> tuple[dict[str, float], tuple[str, ...]]:
    """Values of the shape that a direction's points ask for, and its regimes."""
    speed = np.abs(points.velocity_m_s)
    order = np.argsort(speed)
    friction_n = {**fixed, **start}[FRICTION]
    force = np.maximum(np.abs(points.force_n) - friction_n, 0.5)
    starts = candidates(speed[order], force[order])
    best: tuple[float, dict[str, float], tuple[str, ...]] | None = None
    for names, regimes in SHAPES:
        if best is not None and len(names) + len(start) >= speed.size:
            continue
        named = [
            {**start, **{f"{direction}.{name}": s.get(name, 1.0) for name in names}}
            for s in starts
            if set(names) - {"exponent"} == set(s)
        ]
        option: Option | None = best_of(named, fixed, points, sigma)
        if option is None:
            continue
        criterion = _criterion(option[1])
        if best is None or criterion < best[0] - NO_EVIDENCE:
            best = criterion, option[0], regimes
    assert best is not None  # leak and bleed are always tried
    return dict(best[1]), best[2]


def _criterion(fit: Fit) -> float:
    """Bayesian information criterion; fits closer than any law holds count as equal. Source: [schwarz1978]."""
    n = fit.residuals.size
    return n * float(np.log(max(fit.sum_of_squares / n, CLOSE))) + fit.parameters.size * float(np.log(n))
