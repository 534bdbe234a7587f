"""Curves become a Unit: two sides with their laws and readings, gas, friction and lag, and what could not be established."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from dampkit.bench.points import Points
from dampkit.bench.run import Quality
from dampkit.curves.loop import Curves
from dampkit.damper.bench_share import BenchShare
from dampkit.damper.between import held_to_loops, is_thin, loosened, with_law_error
from dampkit.damper.declared import DamperSpec
from dampkit.damper.declared_checks import declared_checks
from dampkit.damper.disc import identify_disc
from dampkit.damper.doubts import doubts
from dampkit.damper.fit import JointFit, joint_fit
from dampkit.damper.fit_checks import fit_checks, held
from dampkit.damper.friction import (
    FrictionBounds,
    friction_bounds,
    friction_estimate,
    static_force,
)
from dampkit.damper.heat import oil_heat
from dampkit.damper.kinds import facts_of
from dampkit.damper.law import OilAndBench, estimate_of, law_of
from dampkit.damper.oil import unit_oil
from dampkit.damper.points import SLOW_M_S
from dampkit.damper.reading import reading
from dampkit.damper.start import statics
from dampkit.damper.take_up import TakenOut, lost_motion_mm, take_ups
from dampkit.damper.uncertainty import covariance, sure_lag
from dampkit.damper.unit import Side, Unit
from dampkit.damper.valve import PARAMETERS
from dampkit.quantities import DIRECTIONS, Z95, Array, Direction, Estimate, read_only

MIDDLE_C = 37.5  # of 15 to 60 degC: see `bench_share`
GAS_WIDE_N, GAS_WIDE_SHARE = 20.0, 0.5  # half-width of an interval of gas force beyond which none is given; own choice
SEPARATES = 3  # moving stages from which the joint fit separates gas force from unlike valves; own choice
FRICTION_MOVED = 0.02  # share by which friction may leave the fit's before the valve is fitted again


def identify(measured: Curves | Points, spec: DamperSpec | None = None) -> Unit:
    """Fit the unit and separate what is not the valve. Never raises for data that cannot tell: see `quality`.

    Raises CannotAnalyse for points of several settings.
    """
    if isinstance(measured, Points):
        from dampkit.damper.identify_points import identify_points

        return replace(identify_points(measured, spec), oil=unit_oil(spec))
    unit = _as_warm(replace(_identify(measured, spec), heat=oil_heat(measured, spec), oil=unit_oil(spec)))
    return replace(
        unit, quality=(*unit.quality, *fit_checks(measured, unit, spec), *declared_checks(measured.run, spec))
    )


def _as_warm(unit: Unit) -> Unit:
    """The unit with the temperatures of the oil where the log has a probe's, which may lag behind it."""
    heat = unit.heat
    if heat is None or not heat.measured or unit.temperature_c is None:
        return unit
    stages = [heat.of_stage(i)[0] for i in range(len(heat.stages))]
    sides = []
    for side in unit.sides:
        read = side.reading
        if read is not None and read.temperature_c is not None:
            read = replace(read, temperature_c=read_only([stages[i] for i in read.stage]))
        sides.append(replace(side, reading=read))
    span_k = max(stages) - min(stages)
    return replace(unit, rebound=sides[0], compression=sides[1], temperature_c=heat.mean_c, temperature_span_k=span_k)


def _identify(curves: Curves, spec: DamperSpec | None) -> Unit:
    if spec is not None and not facts_of(spec.damper.kind).oil:
        return identify_disc(curves)
    resolution_n, kept = curves.run.force_resolution_n, held(curves.run)
    joint = joint_fit(curves.loops, resolution_n, kept)
    bounds = friction_bounds(curves.loops, resolution_n)
    if joint is None:
        return _no_valve(curves, bounds)
    share, spread = BenchShare.of(curves.run, curves.loops), covariance(joint, curves)
    slow_pass = any(loop.peak_velocity_m_s < SLOW_M_S for loop in curves.loops)
    friction = friction_estimate(bounds, _not_below_zero(estimate_of(joint, spread, "friction_n")), slow_pass)
    used_n = friction.value if friction else min(max(joint.values["friction_n"], 0.0), bounds.at_most_n)
    shown = _shown(joint, curves, used_n, slow_pass)
    if shown:  # the valve again, with what the loops show without one
        joint = joint_fit(curves.loops, resolution_n, {**kept, **shown}) or joint
        spread = covariance(joint, curves)
    taken = taken_out(joint, spread, used_n)
    gas, gas_error_n = _gas(estimate_of(joint, spread, "gas_n"), taken.gas_n, curves, slow_pass)
    delay_s = estimate_of(joint, spread, "delay_s")
    doubt_n = 0.5 * bounds.at_most_n if friction is None else 0.0
    warm_c = _temperature_c(curves)
    known = OilAndBench(spec, share, MIDDLE_C if warm_c is None else warm_c, doubt_n)
    open_n = bounds.at_most_n / 12**0.5 if friction is None else _half(friction) / Z95  # anywhere from 0 to its bound
    level_error_n = float(np.hypot(gas_error_n, open_n))

    def side(direction: Direction) -> Side:
        read = reading(curves.loops, taken, gas_error_n, curves.run, direction)
        law = held_to_loops(law_of(joint, spread, direction, known), read, curves.loops, taken, direction)
        found = take_ups(curves.loops, taken, law.valve, direction)
        if is_thin(read, sum(f"{direction}.{name}" in joint.model.free for name in PARAMETERS)):
            law, found = loosened(law), with_law_error(found, law)
        lost = lost_motion_mm(found, used_n, _half(delay_s) / Z95, level_error_n)
        return Side(direction, law, read, share.widen(lost, "lost_motion"), found)

    unit = Unit(
        rebound=side("rebound"),
        compression=side("compression"),
        gas_force_n=share.widen(gas, "gas_force"),
        gas_stiffness_n_m=joint.values["gas_n_m"],
        friction_force_n=_not_below_zero(share.widen(friction, "friction")),
        friction_at_most_n=bounds.at_most_n,
        friction_used_n=used_n,
        level_error_n=level_error_n,
        taken_out=taken,
        series_stiffness_n_m=_series_stiffness(joint, spread),
        channel_delay_s=delay_s,
        moving_mass_kg=estimate_of(joint, spread, "mass_kg"),
        temperature_c=warm_c,
        temperature_span_k=_span_k(curves),
    )
    return replace(unit, quality=doubts(joint, curves, unit, spec))


def _shown(joint: JointFit, curves: Curves, friction_n: float, slow_pass: bool) -> dict[str, float]:
    """Friction and gas force of the loops themselves, by name in the model, where the fit has left them."""
    static = static_force(curves.loops, curves.run.force_resolution_n)
    shown: dict[str, float] = {}
    if abs(friction_n - joint.values["friction_n"]) > FRICTION_MOVED * friction_n:
        shown["friction_n"] = friction_n
    if not slow_pass and abs(static.force_n + joint.values["gas_n"]) > Z95 * static.error_n:
        shown["gas_n"] = -static.force_n
    return shown


def taken_out(joint: JointFit, spread: Array, friction_n: float) -> TakenOut:
    """The terms of the fit that are no valve, with the friction that the loops allow; mass and delay where they are sure."""
    v = joint.values
    statics = {name: v[name] for name in ("gas_n", "gas_n_m", "gas_n_m2", "friction_speed_m_s") if name in v}
    return TakenOut(friction_n=friction_n, **statics, **sure_lag(joint, spread))


def _gas(fitted: Estimate | None, taken_n: float, curves: Curves, slow_pass: bool) -> tuple[Estimate | None, float]:
    """Gas force as an estimate, None where nothing separates it from unlike valves; and the standard uncertainty of what
    was taken out: the fit's, unless the loops' own static force says otherwise. What may be unlike is in both.
    """
    static = static_force(curves.loops, curves.run.force_resolution_n)
    error_n = apart_n = float(np.hypot(static.error_n, static.force_n + taken_n))
    moving = [loop for loop in curves.loops if loop.peak_velocity_m_s >= SLOW_M_S]
    corners = any(loop.velocity_window > 0 for loop in moving)
    if not slow_pass and (corners or len(moving) < SEPARATES):
        fitted = None
    elif slow_pass and static.error_n < _half(fitted) / Z95:  # the slow pass shows it better than the fit
        fitted = Estimate.from_standard_error(-static.force_n, static.error_n)
    if fitted is not None and abs(static.force_n + taken_n) <= 2 * static.error_n:
        error_n = min(fitted.half_width / Z95, apart_n)
    fitted = _widened(fitted, static.unlike_n)
    wide = _half(fitted) > max(GAS_WIDE_N, GAS_WIDE_SHARE * abs(taken_n))
    return (None if wide else fitted), float(np.hypot(error_n, static.unlike_n))


def _half(estimate: Estimate | None) -> float:
    return 0.0 if estimate is None else estimate.half_width


def _widened(estimate: Estimate | None, error_n: float) -> Estimate | None:
    """With one more independent standard uncertainty. Source: [jcgm100] 5.1.2."""
    if estimate is None:
        return None
    return Estimate.from_standard_error(estimate.value, float(np.hypot(estimate.half_width / Z95, error_n)))


def _temperature_c(curves: Curves) -> float | None:
    """Mean over the run's stages; None where the log tells none."""
    known = [loop.stage.temperature_c for loop in curves.loops if loop.stage.temperature_c is not None]
    return float(np.mean(known)) if known else None


def _span_k(curves: Curves) -> float:
    known = [loop.stage.temperature_c for loop in curves.loops if loop.stage.temperature_c is not None]
    return max(known) - min(known) if known else 0.0


def _not_below_zero(estimate: Estimate | None) -> Estimate | None:
    """An interval that physics ends at zero."""
    return None if estimate is None else replace(estimate, low=max(0.0, estimate.low))


def _series_stiffness(joint: JointFit, spread: Array) -> Estimate | None:
    """Stiffness in series with the valve [N/m], from the direction in which it is known better."""
    known = []
    for direction in DIRECTIONS:
        found = estimate_of(joint, spread, f"{direction}.compliance")
        if found is not None and found.half_width > 0 and found.low > 0:
            known.append((found.half_width / found.value, Estimate(1 / found.value, 1 / found.high, 1 / found.low)))
    return min(known, key=lambda k: k[0])[1] if known else None


def _no_valve(curves: Curves, bounds: FrictionBounds) -> Unit:
    """A log of slow passes alone: friction and gas, and no valve."""
    why = Quality(
        "no_valve_fit",
        "warning",
        f"No stage is faster than {SLOW_M_S * 1000:.0f} mm/s, so the valves are not seen. Add stages from 0.05 to 1.0 m/s.",
    )
    friction = friction_estimate(bounds, None, slow_pass=True)
    gas_n, _ = statics(curves.loops)
    return Unit(
        Side("rebound"), Side("compression"), friction_force_n=friction, friction_at_most_n=bounds.at_most_n,
        friction_used_n=friction.value if friction else 0.0, taken_out=TakenOut(gas_n=gas_n), temperature_c=_temperature_c(curves), quality=(why,),
    )  # fmt: skip
