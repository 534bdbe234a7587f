"""Curves become a damper: the fitted valves as estimates, gas, friction and lag, and what could not be told."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from dampkit.bench.run import Quality
from dampkit.curves.loop import Curves
from dampkit.damper.areas import orifice_area_mm2_per_bleed
from dampkit.damper.bench_checks import bench_checks, held
from dampkit.damper.bench_share import BenchShare
from dampkit.damper.declared import DamperSpec
from dampkit.damper.disc import identify_disc
from dampkit.damper.fit import JointFit, joint_fit
from dampkit.damper.fitted import DamperFit, Regime, ValveFit
from dampkit.damper.lag import lost_motion, series_stiffness, take_ups
from dampkit.damper.points import SLOW_M_S
from dampkit.damper.start import SIGN
from dampkit.damper.uncertainty import covariance
from dampkit.damper.valve import PARAMETERS
from dampkit.quantities import Z95, Array, Estimate, propagated, read_only

WARM_K = 15.0  # off the reference's temperature, from which it is told; common practice, no source
MIDDLE_C = 37.5  # of 15 to 60 degC: see `bench_share`
CURVE_POINTS = 81
SLOPE_AT = 0.5  # of the way from the knee to the top force tested: where the slope above blow-off is read


def identify(curves: Curves, spec: DamperSpec | None = None) -> DamperFit:
    """Fit the unit and separate what is not the valve. Never raises for data that cannot tell: see `quality`."""
    fit = _identify(curves, spec)
    return replace(fit, quality=(*fit.quality, *bench_checks(curves, fit, spec)))


def _identify(curves: Curves, spec: DamperSpec | None) -> DamperFit:
    if spec is not None and spec.damper.kind == "friction-disc":
        return identify_disc(curves)
    joint = joint_fit(curves.loops, curves.run.force_resolution_n, held(curves.run))
    if joint is None:
        return _nothing(curves)
    spread = covariance(joint, curves)
    share = BenchShare.of(curves.run, curves.loops)
    warm_c = _temperature_c(curves)
    known = Known(spec, share, MIDDLE_C if warm_c is None else warm_c)
    valves = {direction: _valve_fit(joint, spread, direction, known) for direction in SIGN}
    quality = [*_doubts(joint, curves), *_unreached(valves), *_warm(warm_c, spec)]
    taken = {
        direction: take_ups(curves.loops, joint, direction, curves.run.displacement_resolution_m) for direction in SIGN
    }
    delay_s = _estimate(joint, spread, "delay_s")
    delay_error_s = 0.0 if delay_s is None else delay_s.half_width / Z95
    return DamperFit(
        rebound=valves["rebound"],
        compression=valves["compression"],
        gas_force_n=share.widen(_estimate(joint, spread, "gas_n"), "gas_force"),
        friction_force_n=_not_below_nothing(share.widen(_estimate(joint, spread, "friction_n"), "friction")),
        gas_stiffness_n_m=joint.values["gas_n_m"],
        rebound_lost_motion_mm=share.widen(lost_motion(taken["rebound"], delay_error_s), "lost_motion"),
        compression_lost_motion_mm=share.widen(lost_motion(taken["compression"], delay_error_s), "lost_motion"),
        series_stiffness_n_m=series_stiffness(joint, spread),
        channel_delay_s=delay_s,
        quality=tuple(quality),
        take_ups=taken,
        moving_mass_kg=_estimate(joint, spread, "mass_kg"),
        temperature_c=warm_c,
    )


@dataclass(frozen=True)
class Known:
    """What a valve's parameters are made areas and intervals with."""

    spec: DamperSpec | None
    share: BenchShare
    temperature_c: float


def _temperature_c(curves: Curves) -> float | None:
    """Mean over the run's stages; None where the log tells none."""
    known = [loop.stage.temperature_c for loop in curves.loops if loop.stage.temperature_c is not None]
    return float(np.mean(known)) if known else None


def _not_below_nothing(estimate: Estimate | None) -> Estimate | None:
    """An interval that physics ends at zero."""
    return None if estimate is None else replace(estimate, low=max(0.0, estimate.low))


def _valve_fit(joint: JointFit, spread: Array, direction: str, unit: Known) -> ValveFit:
    share = unit.share
    valve = joint.model.valve(joint.fit.parameters, direction)
    here = joint.points.direction == SIGN[direction]
    top = float(np.abs(joint.points.velocity_m_s[here]).max())
    speed = np.linspace(0.0, top, CURVE_POINTS)
    force, stiffness, by_parameter = valve.solve(speed)
    gradient = np.zeros((speed.size, joint.fit.parameters.size))
    for column, name in enumerate(PARAMETERS):
        if f"{direction}.{name}" in joint.model.free:
            gradient[:, joint.model.free.index(f"{direction}.{name}")] = by_parameter[:, column]
    gradient[0] = 0.0
    variance = np.maximum(np.diag(propagated(gradient, spread)), 0.0)
    half = share.widened_half(Z95 * np.sqrt(variance), force, stiffness, speed)
    point_speed, point_force = _points(joint, direction)
    reached = _reached(joint, spread, direction, float(force[-1]))
    shown = {name: _estimate(joint, spread, f"{direction}.{name}") for name in PARAMETERS}
    bleed, leak, knee = shown["bleed"], shown["leak"], shown["blowoff_force"]
    area = orifice_area_mm2_per_bleed(unit.spec, direction, unit.temperature_c)
    above = "blow-off" in reached
    return ValveFit(
        valve=valve,
        velocity_m_s=read_only(speed),
        force_n=read_only(force),
        low_n=read_only(np.maximum(force - half, 0.0)),
        high_n=read_only(force + half),
        point_velocity_m_s=read_only(point_speed),
        point_force_n=read_only(point_force),
        reached=reached,
        bleed_area_mm2=share.widen(bleed.scaled(area) if bleed and area and "bleed" in reached else None, "bleed_area"),
        bleed_coefficient_n_s2_m2=share.widen(_power(bleed, -2.0) if "bleed" in reached else None, "bleed_coefficient"),
        leak_coefficient_n_s_m=share.widen(_power(leak, -1.0) if "leak" in reached else None, "leak_coefficient"),
        blowoff_force_n=share.widen(knee if above else None, "blowoff_force"),
        blowoff_velocity_m_s=share.widen(_knee_speed(joint, spread, direction) if above else None, "blowoff_velocity"),
        slope_above_blowoff_n_s_m=share.widen(
            _slope(joint, spread, direction, float(force[-1])) if above else None, "slope"
        ),
        residual_n=float(np.sqrt(np.mean((joint.fit.residuals * joint.sigma_n)[here] ** 2))),
        converged=joint.settled,
        at_bound=tuple(name for name in joint.at_bound if name.startswith(direction)),
    )


def _estimate(joint: JointFit, spread: Array, name: str) -> Estimate | None:
    if name not in joint.model.free:
        return None
    i = joint.model.free.index(name)
    if spread[i, i] == 0:
        return None  # at its bound: the log shows none of it
    return Estimate.from_standard_error(float(joint.fit.parameters[i]), float(np.sqrt(spread[i, i])))


def _power(estimate: Estimate | None, power: float) -> Estimate | None:
    """A negative power of a positive estimate; its ends change places. None where the interval holds zero."""
    if estimate is None or estimate.low <= 0:
        return None
    return Estimate(estimate.value**power, estimate.high**power, estimate.low**power)


def _points(joint: JointFit, direction: str) -> tuple[Array, Array]:
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


def _reached(joint: JointFit, spread: Array, direction: str, top_n: float) -> tuple[Regime, ...]:
    """Regimes that the log shows: a parameter two standard errors from nothing, a knee below the top force."""
    out: list[Regime] = []
    names: tuple[tuple[Regime, str], ...] = (("leak", "leak"), ("bleed", "bleed"))
    for regime, name in names:
        estimate = _estimate(joint, spread, f"{direction}.{name}")
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


def _knee_speed(joint: JointFit, spread: Array, direction: str) -> Estimate:
    """Speed at which leak and bleed carry the blow-off force."""
    v = joint.values
    leak, bleed, knee = (v[f"{direction}.{name}"] for name in ("leak", "bleed", "blowoff_force"))
    root = float(np.sqrt(knee))
    gradient = {"leak": knee, "bleed": root, "blowoff_force": leak + 0.5 * bleed / root}
    return _through_gradient(
        joint, spread, leak * knee + bleed * root, {f"{direction}.{k}": g for k, g in gradient.items()}
    )


def _slope(joint: JointFit, spread: Array, direction: str, top_n: float) -> Estimate:
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


def _doubts(joint: JointFit, curves: Curves) -> list[Quality]:
    out = []
    if not joint.settled:
        out.append(Quality("fit_not_converged", "bad", f"The valve fit did not settle: {joint.why_not_settled}."))
    if not curves.run.zero_known:
        out.append(
            Quality(
                "zero_unknown",
                "warning",
                "The load cell's unloaded reading is not declared, so the gas force may hold the cell's zero error. "
                "Read the cell with nothing fitted and declare it as [zero] force_n.",
            )
        )
    if not any(loop.peak_velocity_m_s < SLOW_M_S for loop in curves.loops):
        out.append(
            Quality(
                "no_slow_pass",
                "note",
                "There is no slow pass (5 mm/s), so friction is read from how the loops close towards zero speed.",
            )
        )
    if "delay_s" not in joint.model.free:
        out.append(
            Quality(
                "delay_not_told",
                "note",
                "Channel delay and moving mass are not told from the spring of oil and bushes: that needs two stages whose "
                "frequencies differ by half or more.",
            )
        )
    if _estimate(joint, np.eye(len(joint.model.free)), "friction_n") and joint.values["friction_n"] <= 0:
        out.append(
            Quality(
                "friction_not_told",
                "warning",
                "No friction stands out of the valve's force; a slow pass (5 mm/s) would show it.",
            )
        )
    for direction, rival in joint.rivals.items():
        out.append(
            Quality(
                "two_fits",
                "warning",
                f"{direction.capitalize()}: two valve settings fit about as well; the other has its blow-off at {rival:.0f} N. A stage between would decide.",
            )
        )
    return out


def _warm(is_c: float | None, spec: DamperSpec | None) -> list[Quality]:
    if is_c is None or spec is None or spec.reference is None or abs(is_c - spec.reference.temperature_c) < WARM_K:
        return []
    return [
        Quality(
            "not_at_reference_temperature",
            "note",
            f"The unit was at about {is_c:.0f} degC; its reference holds at {spec.reference.temperature_c:.0f} degC. For that"
            " comparison its clearances were brought there by the viscosity of a usual damper oil, with a wider interval."
            " Test at the reference's temperature to be sure.",
        )
    ]


def _unreached(valves: dict[str, ValveFit]) -> list[Quality]:
    out = []
    for direction, fit in valves.items():
        if "leak" not in fit.reached:
            out.append(
                Quality(
                    "leak_not_seen",
                    "note",
                    f"{direction.capitalize()}: no leak stands out from the bleed, so no leak coefficient is given.",
                )
            )
        if "blow-off" not in fit.reached:
            out.append(
                Quality(
                    "blowoff_not_reached",
                    "note",
                    f"{direction.capitalize()}: the log does not reach the blow-off; a faster stage would show it.",
                )
            )
        if fit.bleed_area_mm2 is None:
            out.append(
                Quality(
                    "bleed_area_null",
                    "note",
                    f"{direction.capitalize()}: no bleed area, because the bleed is not seen or the piston and rod diameters are not declared.",
                )
            )
    return out


def _nothing(curves: Curves) -> DamperFit:
    why = Quality(
        "no_valve_fit",
        "warning",
        f"No stage is faster than {SLOW_M_S * 1000:.0f} mm/s, so the valves are not seen. Add stages from 0.05 to 1.0 m/s.",
    )
    return DamperFit(None, None, None, None, None, None, None, None, None, (why,), {})
