"""One direction of the joint fit as a Law: its curve with interval, its coefficients, what the test reached."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from dampkit.damper.areas import orifice_area_mm2_per_bleed
from dampkit.damper.bench_share import BenchShare
from dampkit.damper.declared import DamperSpec
from dampkit.damper.fit import JointFit
from dampkit.damper.points import SLOW_M_S
from dampkit.damper.unit import Law, Regime
from dampkit.damper.valve import PARAMETERS
from dampkit.frozen import frozen
from dampkit.quantities import SIGN, Z95, Array, Direction, Estimate, propagated, read_only

CURVE_POINTS = 81
SLOPE_AT = 0.5  # of the way from the knee to the top force tested: where the slope above blow-off is read
BINS = 14  # of speed, in which what the valve leaves over is averaged where it does not explain the force


@frozen
class OilAndBench:
    """What a valve's parameters are made areas and intervals with."""

    spec: DamperSpec | None
    share: BenchShare
    temperature_c: float
    doubt_n: float  # half of the friction bound where friction is not established, which the curve may hold


def law_of(joint: JointFit, spread: Array, direction: Direction, unit: OilAndBench) -> Law:
    """The law of one direction, with its coefficients where the valve explains the force."""
    law = bare_law(joint, spread, direction, unit)
    return with_coefficients(joint, spread, law, direction, unit) if law.explained else _as_measured(law)


def bare_law(joint: JointFit, spread: Array, direction: Direction, unit: OilAndBench) -> Law:
    """The fitted law of one direction without any coefficient."""
    valve = joint.model.valve(joint.fit.parameters, direction)
    here = joint.points.direction == SIGN[direction]
    speed, force, half = _curve(joint, spread, direction, unit)
    point_speed, point_force = _points(joint, direction)
    leftover = joint.leftover_share[direction]
    mine = tuple(
        tuple(name.partition(".")[2] for name in names)
        for names in joint.not_told_apart
        if any(name.startswith(direction) for name in names)
    )
    return Law(
        valve=valve,
        velocity_m_s=read_only(speed),
        force_n=read_only(force),
        low_n=read_only(np.maximum(force - half, 0.0)),
        high_n=read_only(force + half),
        point_velocity_m_s=read_only(point_speed),
        point_force_n=read_only(point_force),
        reached=_reached(joint, spread, direction, float(force[-1])),
        residual_n=float(np.sqrt(np.mean((joint.fit.residuals * joint.sigma_n)[here] ** 2))),
        leftover_ratio=leftover,
        converged=joint.settled,
        at_bound=tuple(name for name in joint.at_bound if name.startswith(direction)),
        not_told_apart=mine,
    )


def _curve(joint: JointFit, spread: Array, direction: Direction, unit: OilAndBench) -> tuple[Array, Array, Array]:
    """Speeds from 0 to the top speed tested, the valve's force there and its 95 % half-width; shape (81,) each."""
    valve = joint.model.valve(joint.fit.parameters, direction)
    top = float(np.abs(joint.points.velocity_m_s[joint.points.direction == SIGN[direction]]).max())
    speed = np.linspace(0.0, top, CURVE_POINTS)
    force, stiffness, by_parameter = valve.solve(speed)
    gradient = np.zeros((speed.size, joint.fit.parameters.size))
    for column, name in enumerate(PARAMETERS):
        if f"{direction}.{name}" in joint.model.free:
            gradient[:, joint.model.free.index(f"{direction}.{name}")] = by_parameter[:, column]
    gradient[0] = 0.0
    variance = np.maximum(np.diag(propagated(gradient, spread)), 0.0)
    half = unit.share.widened_half(np.hypot(Z95 * np.sqrt(variance), unit.doubt_n), force, stiffness, speed)
    return speed, force, np.minimum(half, force + unit.doubt_n)  # no wider than the force itself


def _as_measured(law: Law) -> Law:
    """The curve moved onto the measured points, its interval wider by their scatter about it.

    Means of what the valve leaves over in bins of speed's root, straight between them; 0 at rest. Source: own.
    """
    root = np.sqrt(np.maximum(law.point_velocity_m_s, 0.0))
    off = law.point_force_n - np.interp(law.point_velocity_m_s, law.velocity_m_s, law.force_n)
    edges = np.linspace(0.0, float(root.max()) + 1e-12, BINS + 1)
    place = np.digitize(root, edges) - 1
    used = [k for k in range(BINS) if (place == k).any()]
    at = np.array([0.0, *(root[place == k].mean() for k in used)])
    mean = np.array([0.0, *(off[place == k].mean() for k in used)])
    scatter = np.array([0.0, *(off[place == k].std() for k in used)])
    speed = np.sqrt(law.velocity_m_s)
    force = np.maximum(law.force_n + np.interp(speed, at, mean), 0.0)
    half = np.hypot(0.5 * (law.high_n - law.low_n), Z95 * np.interp(speed, at, scatter))
    half = np.minimum(half, force)
    return replace(law, force_n=read_only(force), low_n=read_only(force - half), high_n=read_only(force + half))


def with_coefficients(joint: JointFit, spread: Array, law: Law, direction: Direction, unit: OilAndBench) -> Law:
    """The law with the valve's parameters, where the test reached them and separates them."""
    share, above, top_n = unit.share, "blow-off" in law.reached, float(law.force_n[-1])
    open_ = {name for names in law.not_told_apart for name in names}
    shown = {name: None if name in open_ else estimate_of(joint, spread, f"{direction}.{name}") for name in PARAMETERS}
    bleed, leak, knee = shown["bleed"], shown["leak"], shown["blowoff_force"]
    area = orifice_area_mm2_per_bleed(unit.spec, direction, unit.temperature_c)
    knee_speed = _knee_speed(joint, spread, direction) if above and knee else None
    slope = _slope(joint, spread, direction, top_n) if above else None
    bleed, leak = (bleed if "bleed" in law.reached else None), (leak if "leak" in law.reached else None)
    return replace(
        law,
        bleed_area_mm2=share.widen(bleed.scaled(area) if bleed and area else None, "bleed_area"),
        bleed_coefficient_n_s2_m2=share.widen(_power(bleed, -2.0), "bleed_coefficient"),
        leak_coefficient_n_s_m=share.widen(_power(leak, -1.0), "leak_coefficient"),
        blowoff_force_n=share.widen(_positive(knee if above else None), "blowoff_force"),
        blowoff_velocity_m_s=share.widen(_positive(knee_speed), "blowoff_velocity"),
        slope_above_blowoff_n_s_m=share.widen(_positive(slope), "slope"),
    )


def _positive(estimate: Estimate | None) -> Estimate | None:
    """None where the interval of a quantity that is positive holds zero."""
    return estimate if estimate is not None and estimate.low > 0 else None


def estimate_of(joint: JointFit, spread: Array, name: str) -> Estimate | None:
    if name not in joint.model.free:
        return None
    i = joint.model.free.index(name)
    if not spread[i, i] > 0:
        return None  # at its bound, or not fixed by the data: the log shows none of it
    return Estimate.from_standard_error(float(joint.fit.parameters[i]), float(np.sqrt(spread[i, i])))


def _power(estimate: Estimate | None, power: float) -> Estimate | None:
    """A negative power of a positive estimate; its ends change places. None where the interval holds zero."""
    if estimate is None or estimate.low <= 0:
        return None
    return Estimate(estimate.value**power, estimate.high**power, estimate.low**power)


def _points(joint: JointFit, direction: Direction) -> tuple[Array, Array]:
    """Measured hydraulic force at the fitted points: everything but the valve taken out of the bench reading."""
    p = joint.points
    sign = SIGN[direction]
    here = (p.direction == sign) & (np.abs(p.velocity_m_s) > 0.5 * SLOW_M_S)
    points = p.where(here)
    modelled = joint.model.force(joint.fit.parameters, points)
    values = joint.values
    points = points.earlier(values.get("delay_s", 0.0))
    through = sign * (points.velocity_m_s - values.get(f"{direction}.compliance", 0.0) * points.force_rate_n_s)
    valve = joint.model.valve(joint.fit.parameters, direction).force(np.maximum(through, 0.0))
    return through, valve + sign * (points.force_n - modelled)


def _reached(joint: JointFit, spread: Array, direction: Direction, top_n: float) -> tuple[Regime, ...]:
    """Regimes that the log shows: a parameter two standard errors from nothing, a knee below the top force."""
    out: list[Regime] = []
    names: tuple[tuple[Regime, str], ...] = (("leak", "leak"), ("bleed", "bleed"))
    for regime, name in names:
        estimate = estimate_of(joint, spread, f"{direction}.{name}")
        if estimate is not None and estimate.low > 0 and estimate.half_width > 0:
            out.append(regime)
    if "blow-off" in joint.regimes[direction] and joint.values[f"{direction}.blowoff_force"] < top_n:
        out.append("blow-off")
        if joint.model.valve(joint.fit.parameters, direction).fully_open_force_n < top_n:
            out.append("fully-open")
    return tuple(out)


def _through_gradient(joint: JointFit, spread: Array, value: float, gradient: dict[str, float]) -> Estimate:
    g = np.array([[gradient.get(name, 0.0) for name in joint.model.free]])
    return Estimate.from_standard_error(value, float(np.sqrt(max(propagated(g, spread)[0, 0], 0.0))))


def _knee_speed(joint: JointFit, spread: Array, direction: Direction) -> Estimate:
    """Speed at which leak and bleed carry the blow-off force."""
    v = joint.values
    leak, bleed, knee = (v[f"{direction}.{name}"] for name in ("leak", "bleed", "blowoff_force"))
    root = float(np.sqrt(knee))
    gradient = {"leak": knee, "bleed": root, "blowoff_force": leak + 0.5 * bleed / root}
    return _through_gradient(
        joint, spread, leak * knee + bleed * root, {f"{direction}.{k}": g for k, g in gradient.items()}
    )


def _slope(joint: JointFit, spread: Array, direction: Direction, top_n: float) -> Estimate:
    """dF/dv halfway between the knee and the top force tested."""
    p = joint.fit.parameters
    knee = joint.values[f"{direction}.blowoff_force"]
    at = np.array([knee + SLOPE_AT * (top_n - knee)])

    def slope(q: Array) -> float:
        valve = joint.model.valve(q, direction)
        return float(valve.solve(valve.velocity(at))[1][0])

    gradient = {}
    for i, name in enumerate(joint.model.free):
        if name.startswith(direction) and p[i] > 0:
            step = np.zeros(p.size)
            step[i] = 1e-5 * p[i]
            gradient[name] = (slope(p + step) - slope(p - step)) / (2 * step[i])
    return _through_gradient(joint, spread, slope(p), gradient)
