"""A force-velocity table or a hand test becomes a Unit: readings, a curve through them, a valve where they tell one."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from dampkit.bench.points import Points, PointSet
from dampkit.bench.run import Quality
from dampkit.damper.bench_share import BenchShare
from dampkit.damper.declared import DamperSpec
from dampkit.damper.declared_checks import declared_checks
from dampkit.damper.doubts import point_doubts
from dampkit.damper.fit import JointFit
from dampkit.damper.fit_checks import scale_checks
from dampkit.damper.friction import CLOSED_M_S, SLOW_DOUBT, FrictionBounds, extrapolated_n, friction_estimate
from dampkit.damper.kinds import facts_of
from dampkit.damper.law import CURVE_POINTS, OilAndBench, bare_law, estimate_of, with_coefficients
from dampkit.damper.point_fit import fit_readings, spread_of, through_points
from dampkit.damper.points import SLOW_M_S
from dampkit.damper.reading import REPEATS, with_bench
from dampkit.damper.take_up import TakenOut, same_speed
from dampkit.damper.unit import Law, Reading, Side, Sliding, Unit
from dampkit.damper.warmth import WIDE_K
from dampkit.errors import CannotAnalyse
from dampkit.frozen import frozen
from dampkit.quantities import DIRECTIONS, SIGN, Z95, Array, Direction, Estimate, Index, distinct, read_only

MIDDLE_C = 37.5  # of 15 to 60 degC: see `bench_share`
FREE_FROM = 6  # speeds in each direction from which friction is sought beside the valves; own choice
USUAL_N, USUAL_MOST_N = (
    25.0,
    60.0,
)  # friction of a telescopic damper where no point tells it; common practice, from memory
USUAL_SHARE = 0.3  # of the slowest force, where that is less; own choice


@frozen
class Standing:
    """What stands in both directions at rest: gas and zero (tension positive), and friction as far as it is bounded."""

    static: Estimate | None
    bounds: FrictionBounds
    slow: bool

    @property
    def static_n(self) -> float:
        return 0.0 if self.static is None else self.static.value


def identify_points(points: Points, spec: DamperSpec | None = None) -> Unit:
    """The unit of one record of points. Never raises for data that cannot tell: see `quality`.

    Raises CannotAnalyse where the points are of several settings, or there are none.
    """
    _one_setting(points)
    unit = _unit(points, spec)
    return replace(
        unit,
        quality=(
            *unit.quality,
            *point_doubts(points, unit, spec),
            *scale_checks(unit, spec),
            *declared_checks(points, spec),
        ),
    )


def _unit(points: Points, spec: DamperSpec | None) -> Unit:
    raw = {d: _reading(s, points) for d in DIRECTIONS if (s := points.points(d)) is not None}
    disc = spec is not None and not facts_of(spec.damper.kind).oil
    standing = _standing(raw)
    readings = {d: _shifted(r, -SIGN[d] * standing.static_n) for d, r in raw.items()}
    if disc:
        return _disc(readings, standing, points)
    bounds = standing.bounds
    free = bounds.bracket_n is not None and min(r.velocity_m_s.size for r in readings.values()) >= FREE_FROM
    moving = all(r.velocity_m_s[-1] >= SLOW_M_S for r in readings.values())
    joint = fit_readings(readings, _first_friction_n(standing), free) if moving else None
    spread = None if joint is None else spread_of(joint)
    fitted = None if joint is None or spread is None else estimate_of(joint, spread, "friction_n")
    # without slow points a knee may lie between the two slowest, so their bracket is no estimate
    friction = friction_estimate(bounds, fitted, slow_pass=True) if standing.slow else None
    used_n = friction.value if friction else _within(joint, bounds)
    if joint is not None and free:  # the valves again, friction held: what it leaves open is counted by itself
        joint = fit_readings(readings, used_n, free=False)
        spread = None if joint is None else spread_of(joint)
    warm = points.temperature_c
    unit = Unit(
        Side("rebound", reading=readings.get("rebound")),
        Side("compression", reading=readings.get("compression")),
        gas_force_n=None if standing.static is None else standing.static.scaled(-1.0),
        friction_force_n=friction,
        friction_at_most_n=bounds.at_most_n,
        friction_used_n=used_n,
        taken_out=TakenOut(gas_n=-standing.static_n, friction_n=used_n),
        temperature_c=None if warm is None else float(warm.mean()),
        temperature_span_k=0.0 if warm is None else float(np.ptp(warm)),
    )
    most_n = min(bounds.at_most_n, USUAL_MOST_N)
    doubt_n = max(used_n, most_n - used_n) if friction is None else friction.half_width
    if joint is None or spread is None:
        return replace(unit, quality=(_NO_VALVE,))
    known = OilAndBench(spec, BenchShare.of_points(points), unit.temperature_c or MIDDLE_C, doubt_n)
    laws = {d: _law(joint, spread, d, known, readings[d]) for d in readings}
    return replace(
        unit,
        rebound=replace(unit.rebound, law=laws.get("rebound")),
        compression=replace(unit.compression, law=laws.get("compression")),
    )


def _one_setting(points: Points) -> None:
    if not points.groups:
        raise CannotAnalyse(points.file, "no points", "speeds with their forces", "give the table its rows")
    if len(points.groups) > 1:
        listed = ", ".join(f"{g:g}" for g in points.groups)
        raise CannotAnalyse(
            points.file,
            f"points of several settings: {listed}",
            "one setting of one unit",
            "name it in bench.toml ([log] setting), or hold the settings side by side with `dampkit settings`",
        )


def _reading(of: PointSet, points: Points) -> Reading:
    """Points as readings, slowest first; a speed that comes several times, as warm, is their mean."""
    order = np.argsort(of.velocity_m_s, kind="stable")
    warm = np.full(order.size, np.nan) if of.temperature_c is None else of.temperature_c
    sets: list[list[int]] = []
    for i in order:
        v = float(of.velocity_m_s[i])
        if not sets or not same_speed(v, float(of.velocity_m_s[sets[-1][0]])):
            sets.append([i])
        elif not abs(warm[i] - warm[sets[-1][0]]) > WIDE_K:  # hot repeats are another state of the unit
            sets[-1].append(i)
    rows = [_mean(of, np.array(rows), points) for rows in sets]
    speed, force, half, temperature = np.array(rows, dtype=np.float64).T
    return Reading(
        read_only(speed),
        read_only(force),
        read_only(force - half),
        read_only(force + half),
        (-1,) * speed.size,
        None if np.isnan(temperature).any() else read_only(temperature),
    )


def _mean(of: PointSet, at: Index, points: Points) -> tuple[float, float, float, float]:
    """Speed, force, its 95 % half-width (the record's, how a bench repeats, the declared bench) and temperature."""
    force = float(of.force_n[at].mean())
    scatter = float(of.force_n[at].std(ddof=1)) / at.size**0.5 if at.size > 1 else 0.0
    read = float(np.sqrt(np.sum(of.half_width_n[at] ** 2))) / at.size
    half = float(np.hypot(read, Z95 * np.hypot(scatter, REPEATS * force)))
    warm = np.nan if of.temperature_c is None else float(of.temperature_c[at].mean())
    return float(of.velocity_m_s[at].mean()), force, with_bench(half, force, points), warm


def _shifted(read: Reading, by_n: float) -> Reading:
    if by_n == 0:
        return read
    force, low, high = (read_only(x + by_n) for x in (read.force_n, read.low_n, read.high_n))
    return replace(read, force_n=force, low_n=low, high_n=high)


def _standing(readings: dict[Direction, Reading]) -> Standing:
    """Half the difference of out and in at the slowest speed is friction and valve, half the sum gas and zero.

    Gas is taken out where both directions have points slow enough; of forces that came without it, it is then about
    nothing. Source: own; as in `friction`, with points for branches.
    """
    sides = list(readings.values())
    first = max(r.velocity_m_s[0] for r in sides)
    slow = first < SLOW_M_S
    error = float(np.mean([0.5 * (r.high_n[0] - r.low_n[0]) for r in sides]))
    static: Estimate | None = None
    if slow and len(readings) == len(DIRECTIONS):
        out, back = (_at(readings[d], first) for d in DIRECTIONS)
        half = error + SLOW_DOUBT * 0.5 * abs(out + back)
        static = Estimate(0.5 * (out - back), 0.5 * (out - back) - half, 0.5 * (out - back) + half)
    width = max(_width(sides, first), 0.0)
    at_most = width + error
    later = [max(float(r.velocity_m_s[1]) for r in sides)] if all(r.velocity_m_s.size > 1 for r in sides) else []
    if slow:
        doubt = max(SLOW_DOUBT * width, error)
        rise = _extrapolated(sides, first, later[0], 1.0) if later else width
        low = min(width - doubt, rise - error)
        return Standing(static, FrictionBounds(at_most, (max(low, 0.0), at_most)), slow)
    if not later or later[0] > CLOSED_M_S:
        return Standing(static, FrictionBounds(at_most, None), slow)
    ends = sorted(_extrapolated(sides, first, later[0], n) for n in (1.0, 2.0))
    bracket = (max(ends[0] - error, 0.0), min(max(ends[1] + error, 0.0), at_most))
    return Standing(static, FrictionBounds(at_most, bracket), slow)


def _width(sides: list[Reading], speed_m_s: float) -> float:
    return float(np.mean([_at(r, speed_m_s) for r in sides]))


def _extrapolated(sides: list[Reading], first: float, second: float, exponent: float) -> float:
    """The half-width at rest, with the valves' force growing as speed to an exponent."""
    return extrapolated_n(_width(sides, first), _width(sides, second), float(second / first), exponent)


def _at(read: Reading, speed_m_s: float) -> float:
    return float(np.interp(speed_m_s, read.velocity_m_s, read.force_n))


def _first_friction_n(standing: Standing) -> float:
    bracket, most = standing.bounds.bracket_n, standing.bounds.at_most_n
    return max(0.1, 0.5 * (bracket[0] + bracket[1]) if bracket else min(USUAL_N, USUAL_SHARE * most))


def _within(joint: JointFit | None, bounds: FrictionBounds) -> float:
    """What is taken for friction where it is not established: the fit's, within what the points allow."""
    low, high = bounds.bracket_n or (0.0, bounds.at_most_n)
    return 0.0 if joint is None else min(max(joint.values["friction_n"], low), high)


def _law(joint: JointFit, spread: Array, direction: Direction, known: OilAndBench, read: Reading) -> Law:
    """The fitted law where it explains the points, else the curve drawn through them."""
    mine = sum(name.startswith(direction) for name in joint.model.free) + ("friction_n" in joint.model.free)
    bare = bare_law(joint, spread, direction, known)
    law = replace(bare, spare_points=read.velocity_m_s.size - mine, friction_doubt_n=known.doubt_n)
    if law.explained:
        return with_coefficients(joint, spread, law, direction, known)
    speed = np.linspace(0.0, law.top_m_s, CURVE_POINTS)
    force, half = through_points(speed, read, joint.values["friction_n"])
    half = np.minimum(np.hypot(half, known.doubt_n), force + known.doubt_n)
    return replace(
        law,
        velocity_m_s=read_only(speed),
        force_n=read_only(force),
        low_n=read_only(np.maximum(force - half, 0.0)),
        high_n=read_only(force + half),
        reached=(),
    )


def _disc(readings: dict[Direction, Reading], standing: Standing, points: Points) -> Unit:
    """A friction damper: sliding force against speed, both directions averaged; see `disc`."""
    speeds = distinct(np.concatenate([r.velocity_m_s for r in readings.values()]))
    force = np.array([_width(list(readings.values()), float(v)) for v in speeds])
    halves = np.concatenate([0.5 * (r.high_n - r.low_n) for r in readings.values()])
    error = float(np.hypot(Z95 * force.std(ddof=1) / force.size**0.5 if force.size > 1 else 0.0, halves.mean()))
    mean = float(force.mean())
    friction = Estimate(mean, mean - error, mean + error)
    return Unit(
        Side("rebound", reading=readings.get("rebound")),
        Side("compression", reading=readings.get("compression")),
        friction_force_n=friction,
        friction_at_most_n=friction.high,
        friction_used_n=mean,
        taken_out=TakenOut(gas_n=-standing.static_n, friction_n=mean),
        quality=(
            Quality(
                "no_valve", "note", "A friction damper has no valve: no bleed, leak, blow-off or gas force is given."
            ),
        ),
        sliding=Sliding(read_only(speeds), read_only(force)),
    )


_NO_VALVE = Quality(
    "no_valve_fit",
    "warning",
    f"No valve is seen: that needs two speeds or more in each direction, up from {SLOW_M_S * 1000:.0f} mm/s."
    " Add points from 0.05 to 1.0 m/s.",
)
