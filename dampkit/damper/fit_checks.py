"""What only the fit or a reference shows about the bench: its zero, mass between cell and damper, a wrong scale."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from dampkit.bench.run import Quality, Run
from dampkit.curves.loop import Curves
from dampkit.damper.declared import DamperSpec
from dampkit.damper.kinds import facts_of
from dampkit.damper.unit import Unit
from dampkit.quantities import KILOGRAM_FORCE_N, POUND_FORCE_N, Array, median, number

ZERO_N = 10.0  # offset of a unit without gas force that is told; common practice, no source
LEAST_MASS_KG = 1.2  # at the lower limit; own: fits of sound made-up units without any show up to 0.9 kg there
FORCE_SCALES = {
    "pound-force and newton are mixed up": POUND_FORCE_N,
    "kilogram-force or decanewton and newton are mixed up, or a decimal place is off": KILOGRAM_FORCE_N,
    "newton and kilonewton are mixed up": 1e3,
}
FACTOR_AGREES = 0.1  # of the factor, by the middle of all readings
EVEN = 0.12  # standard deviation of the logarithm of reading over reference: a scale is the same everywhere
FEWEST = 6  # readings, both directions together
STROKE_FACTOR = 2.0
STROKE_EVEN = 0.06
BETTER = 3.0  # times closer that the halved or doubled speed must bring the readings


def held(run: Run) -> dict[str, float]:
    """What the fit must not move: a declared moving mass; and delay and mass where the log is to be used as it is."""
    if run.as_logged:
        return {"mass_kg": run.moving_mass_kg, "delay_s": 0.0}
    return {"mass_kg": run.moving_mass_kg} if run.moving_mass_kg else {}


def fit_checks(curves: Curves, fit: Unit, spec: DamperSpec | None) -> list[Quality]:
    """A remark for each flaw of the bench that the fit or the declared unit shows."""
    scale = scale_checks(fit, spec)
    stopped = any(q.code == "stop_met" for q in curves.quality)  # a stop pulls at the mean force, a wrong scale at all
    zero = [] if stopped or any(q.code == "force_scale" for q in scale) else _zero(curves, fit, spec)
    return [*zero, *_mass(curves, fit), *scale]


def _zero(curves: Curves, fit: Unit, spec: DamperSpec | None) -> list[Quality]:
    """A force at rest that the unit cannot make: it pulls in, it has no gas, or its gas would burst it."""
    facts = facts_of(None if spec is None else spec.damper.kind)
    if fit.gas_force_n is None and facts.oil:
        return []  # uneven valves shift the mean of a loop as well
    if fit.gas_force_n is None:
        offset, low, high = (-float(np.mean([loop.mean_force_n.mean() for loop in curves.loops])),) * 3
    else:
        offset, low, high = fit.gas_force_n.value, fit.gas_force_n.low, fit.gas_force_n.high
    if facts.gas == "none" and abs(offset) > ZERO_N and low * high > 0:
        return [_zero_said(offset, "it has no gas force", "about")]
    if facts.gas != "none" and fit.gas_force_n is not None and high < -ZERO_N:
        return [_zero_said(offset, "gas can only push the rod out", "at least")]
    rod = None if spec is None else spec.damper.rod_diameter_mm
    if facts.most_gas_pa is None or not rod:
        return []
    pressure = low / (0.25 * np.pi * (1e-3 * rod) ** 2)
    if pressure <= facts.most_gas_pa:
        return []
    return [_zero_said(offset, f"it would take {pressure / 1e5:.0f} bar of gas behind the rod", "up to")]


def _zero_said(offset: float, why: str, about: str) -> Quality:
    way = "out" if offset > 0 else "in"
    return Quality(
        "zero_offset",
        "warning",
        f"At rest the reading is {abs(offset):.0f} N pushing {way}, and {why}: the load cell's zero is off by {about} as much."
        " Read the cell with nothing fitted and declare it as [zero] force_n.",
        "declare",
    )


def _mass(curves: Curves, fit: Unit) -> list[Quality]:
    """Inertia between cell and damper that was not declared."""
    mass = fit.moving_mass_kg
    if mass is None or mass.low < LEAST_MASS_KG:
        return []
    fastest = max(float(np.abs(loop.acceleration_m_s2).max()) for loop in curves.loops)
    return [
        Quality(
            "moving_mass",
            "note",
            f"About {number(mass.value, 2)} kg ({number(mass.low, 2)} to {number(mass.high, 2)}) move between load cell and"
            f" damper: up to {mass.value * fastest:.0f} N of inertia were taken out."
            " Put the cell at the end that stands still, or declare [fixture] moving_mass_kg.",
            "declare",
        )
    ]


def scale_checks(fit: Unit, spec: DamperSpec | None) -> list[Quality]:
    """Readings that are all off the reference by one factor that a wrong unit or a wrong crank throw makes."""
    reference = None if spec is None else spec.reference
    if reference is None:
        return []
    speed = np.array(reference.velocity_m_s)
    wanted = {"rebound": np.array(reference.rebound_force_n), "compression": np.array(reference.compression_force_n)}
    plain = _ratios(fit, speed, wanted, 1.0)
    if plain.size < FEWEST:
        return _stroke(fit, speed, wanted, None)
    middle, spread = float(np.exp(median(plain))), float(plain.std())
    slips = [(said, scale) for said, factor in FORCE_SCALES.items() for scale in (factor, 1 / factor)]
    said, scale = min(slips, key=lambda slip: abs(np.log(middle / slip[1])))
    if abs(middle / scale - 1) < FACTOR_AGREES and spread < EVEN:
        return [_scale_said("force", f"All forces read {number(middle)} times the reference, as when {said}.")]
    return _stroke(fit, speed, wanted, float(np.sqrt(np.mean(plain**2))))


def _stroke(fit: Unit, speed: Array, wanted: Mapping[str, Array], plain: float | None) -> list[Quality]:
    for scale, said in ((STROKE_FACTOR, "twice"), (1 / STROKE_FACTOR, "half")):
        stretched = _ratios(fit, speed, wanted, scale)
        if stretched.size < FEWEST:
            continue
        off = float(np.sqrt(np.mean(stretched**2)))
        if off < STROKE_EVEN and (plain is None or plain > BETTER * max(off, 0.02)):
            text = f"All forces are those of the reference ({100 * off:.0f} % apart) at {said} the speed: half-stroke and stroke may be mixed up."
            return [_scale_said("stroke", text)]
    return []


def _ratios(fit: Unit, speed: Array, wanted: Mapping[str, Array], scale: float) -> Array:
    """Logarithm of reading over reference at the reference's speeds times `scale`, where the log reaches; shape (M,)."""
    friction = fit.friction_used_n
    sides = {side.direction: side.law for side in fit.sides}
    if not any(sides.values()) and fit.friction_force_n is not None and scale == 1.0:  # a friction unit: no speed in it
        return np.log(friction / np.concatenate([force[force > 0] for force in wanted.values()]))
    parts = []
    for direction, valve in sides.items():
        if valve is None:
            continue
        at = scale * speed
        usable = (at <= 1.02 * valve.velocity_m_s[-1]) & (wanted[direction] > 0)
        read = np.interp(at[usable], valve.velocity_m_s, valve.force_n) + friction
        parts.append(np.log(read[read > 0] / wanted[direction][usable][read > 0]))
    return np.concatenate(parts) if parts else np.empty(0)


def _scale_said(channel: str, text: str) -> Quality:
    hint = "the cell's range and unit" if channel == "force" else "the stroke with a rule"
    return Quality(f"{channel}_scale", "bad", f"{text} Check {hint} before judging the unit.", "declare")
