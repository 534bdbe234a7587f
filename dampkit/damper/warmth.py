"""What a valve would do with its oil at another temperature: warm oil is thin, and leaks more through a clearance."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from dampkit.damper.areas import EXPANSION_PER_K
from dampkit.damper.oil import viscosity_mm2_s, walther_constants
from dampkit.damper.unit import Law, Reading, Side, Unit
from dampkit.damper.valve import Valve
from dampkit.quantities import Z95, Array, read_only

USUAL_OIL = walther_constants(40.0, 15.0, 100.0, 3.8)  # of dampers; common practice, from memory
LIKE_K = 5.0  # temperatures that count as one; common practice: test procedures ask for 20 +/- 5 degC
WIDE_K = 15.0  # span of the stages beyond which one law does not hold for all; common practice, no source
UNSURE = 0.35  # of the change, as its standard uncertainty: the unit's own oil is not known; own choice


def at_temperature(valve: Valve, is_c: float, to_c: float) -> Valve:
    """The valve with its oil brought from one temperature to another [degC].

    A clearance passes oil in inverse proportion to dynamic viscosity, an orifice to the root of density.
    Source: [merritt1967] ch. 3; viscosity by [astm_d341] for a usual damper oil.
    """
    lighter = (1 + EXPANSION_PER_K * (to_c - is_c)) ** 0.5
    thicker = viscosity_mm2_s(USUAL_OIL, to_c) / viscosity_mm2_s(USUAL_OIL, is_c)
    return replace(
        valve, leak=valve.leak / thicker, bleed=valve.bleed * lighter, lift_rate=valve.lift_rate * lighter,
        open=valve.open * lighter,
    )  # fmt: skip


def brought_to(unit: Unit, to_c: float) -> Unit:
    """The unit with its oil at another temperature [degC]: laws and readings, intervals wider by what the oil leaves open.

    As it is where the log does not hold the temperature. Each reading is moved from its own stage's temperature. Where
    the stages span more than WIDE_K one law does not hold for all of them, so it moves nothing: the readings within LIKE_K
    stand as they were read, the others are left out.
    """
    if unit.temperature_c is None or not any(side.law for side in unit.sides):
        return unit
    wide = unit.temperature_span_k > WIDE_K
    rebound, compression = (_side(side, unit.temperature_c, to_c, wide) for side in unit.sides)
    return replace(unit, rebound=rebound, compression=compression, temperature_c=to_c, temperature_span_k=0.0)


def _side(side: Side, is_c: float, to_c: float, wide: bool) -> Side:
    law, read = side.law, side.reading
    if law is None or read is None:
        return side
    if wide:
        return replace(side, reading=_like(read, to_c))
    return replace(side, law=_moved_law(law, is_c, to_c), reading=_moved_reading(read, law, is_c, to_c))


def _like(read: Reading, to_c: float) -> Reading:
    """The readings that were taken at that temperature."""
    if read.temperature_c is None:
        return read
    keep = np.abs(read.temperature_c - to_c) <= LIKE_K
    kept = tuple(stage for stage, here in zip(read.stage, keep, strict=True) if here)
    v, force, low, high, warm = (
        read_only(a[keep]) for a in (read.velocity_m_s, read.force_n, read.low_n, read.high_n, read.temperature_c)
    )
    return Reading(v, force, low, high, kept, warm)


def _moved_law(law: Law, is_c: float, to_c: float) -> Law:
    valve = at_temperature(law.valve, is_c, to_c)
    change = valve.force(law.velocity_m_s) - law.valve.force(law.velocity_m_s)
    force, low, high = _shifted(law, change)
    return replace(law, valve=valve, force_n=force, low_n=low, high_n=high)


def _moved_reading(read: Reading, law: Law, is_c: float, to_c: float) -> Reading:
    warm = np.full(read.velocity_m_s.size, is_c) if read.temperature_c is None else read.temperature_c
    now = law.valve.force(read.velocity_m_s)
    change = np.array([
        float(at_temperature(law.valve, t, to_c).force(np.array([v]))[0]) - f
        for t, v, f in zip(warm, read.velocity_m_s, now, strict=True)
    ])  # fmt: skip
    force, low, high = _shifted(read, change)
    return Reading(read.velocity_m_s, force, low, high, read.stage)


def _shifted(of: Law | Reading, change: Array) -> tuple[Array, Array, Array]:
    """Force and interval after a change, the interval wider by what the oil leaves open of it."""
    half = np.hypot(0.5 * (of.high_n - of.low_n), Z95 * UNSURE * np.abs(change))
    force = of.force_n + change
    return read_only(force), read_only(np.maximum(force - half, 0.0)), read_only(force + half)
