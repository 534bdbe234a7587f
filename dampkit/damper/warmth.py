"""What a valve would do with its oil at another temperature: warm oil is thin, and leaks more through a clearance."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from dampkit.damper.areas import DECLARED_AT_C, DENSITY_KG_M3, EXPANSION_PER_K
from dampkit.damper.oil import UnitOil, viscosity_mm2_s
from dampkit.damper.unit import Law, Reading, Side, Unit
from dampkit.damper.valve import Valve
from dampkit.quantities import Z95, Array, read_only

LIKE_K = 5.0  # temperatures that count as one; common practice: test procedures ask for 20 +/- 5 degC
WIDE_K = 15.0  # span of the stages beyond which one law does not hold for all; common practice, no source
PASSAGE_M = 1.5e-3  # width of a valve's passage; common practice, no source
LONG_PASSAGE = 10.0  # length over width of the longest passage that a sound valve is taken to have; own choice
USUAL = UnitOil()


def at_temperature(valve: Valve, is_c: float, to_c: float, oil: UnitOil = USUAL, passes_ratio: float = 1.0) -> Valve:
    """The valve with its oil brought from one temperature to another [degC].

    A clearance passes oil in inverse proportion to dynamic viscosity, an orifice to the root of density. `passes_ratio`: what
    the discharge coefficient becomes, over what it was. Source: [merritt1967] ch. 3; viscosity by [astm_d341].
    """
    swollen = (1 + EXPANSION_PER_K * (to_c - DECLARED_AT_C)) / (1 + EXPANSION_PER_K * (is_c - DECLARED_AT_C))
    lighter = passes_ratio * swollen**0.5
    thicker = viscosity_mm2_s(oil.line, to_c) / viscosity_mm2_s(oil.line, is_c) / swollen
    return replace(
        valve, leak=valve.leak / thicker, bleed=valve.bleed * lighter, lift_rate=valve.lift_rate * lighter,
        open=valve.open * lighter,
    )  # fmt: skip


def discharge(reynolds: Array, length: float) -> Array:
    """Discharge coefficient of a round passage `length` widths long at the Reynolds number of its jet, same shape.

    (2.28 + 64 length / Re)^-1/2: the entry of a developing flow, and laminar friction in the passage.
    Source: [merritt1967] ch. 3, short tubes, for Re below 50 lengths; above it the entry alone decides. From memory.
    """
    return np.asarray((2.28 + 64.0 * length / np.maximum(reynolds, 1e-9)) ** -0.5)


def passes_more(force_n: float, area_m2: float, is_c: float, to_c: float, oil: UnitOil = USUAL) -> float:
    """Discharge coefficient of the longest passages at one temperature over that at another, at a hydraulic force."""
    jet_m_s = (2.0 * max(force_n, 1.0) / area_m2 / DENSITY_KG_M3) ** 0.5
    nu = np.array([viscosity_mm2_s(oil.line, c) for c in (is_c, to_c)])
    before, after = discharge(jet_m_s * PASSAGE_M / (1e-6 * nu), LONG_PASSAGE)
    return float(after / before)


def brought_to(unit: Unit, to_c: float) -> Unit:
    """The unit with its oil at another temperature [degC]: laws and readings, intervals wider by what the oil leaves open.

    As it is where the log does not hold the temperature. Each reading is moved from its own stage's temperature. Where
    the stages span more than WIDE_K one law does not hold for all of them, so it moves nothing: the readings within LIKE_K
    stand as they were read, the others are left out.
    """
    if unit.temperature_c is None or not any(side.law for side in unit.sides):
        return unit
    wide = unit.temperature_span_k > WIDE_K
    rebound, compression = (_side(side, unit, to_c, wide) for side in unit.sides)
    return replace(unit, rebound=rebound, compression=compression, temperature_c=to_c, temperature_span_k=0.0)


def _side(side: Side, unit: Unit, to_c: float, wide: bool) -> Side:
    law, read, is_c = side.law, side.reading, unit.temperature_c
    if law is None or read is None or is_c is None:
        return side
    if wide:
        return replace(side, reading=_like(read, to_c))
    return replace(
        side, law=_moved_law(law, is_c, to_c, unit.oil), reading=_moved_reading(read, law, is_c, to_c, unit.oil)
    )


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


def _moved_law(law: Law, is_c: float, to_c: float, oil: UnitOil) -> Law:
    valve = at_temperature(law.valve, is_c, to_c, oil)
    change = valve.force(law.velocity_m_s) - law.valve.force(law.velocity_m_s)
    force, low, high = _shifted(law, change, oil)
    return replace(law, valve=valve, force_n=force, low_n=low, high_n=high)


def _moved_reading(read: Reading, law: Law, is_c: float, to_c: float, oil: UnitOil) -> Reading:
    warm = np.full(read.velocity_m_s.size, is_c) if read.temperature_c is None else read.temperature_c
    now = law.valve.force(read.velocity_m_s)
    change = np.array([
        float(at_temperature(law.valve, t, to_c, oil).force(np.array([v]))[0]) - f
        for t, v, f in zip(warm, read.velocity_m_s, now, strict=True)
    ])  # fmt: skip
    force, low, high = _shifted(read, change, oil)
    return Reading(read.velocity_m_s, force, low, high, read.stage)


def _shifted(of: Law | Reading, change: Array, oil: UnitOil) -> tuple[Array, Array, Array]:
    """Force and interval after a change, the interval wider by what the oil leaves open of it."""
    half = np.hypot(0.5 * (of.high_n - of.low_n), Z95 * oil.unsure_share * np.abs(change))
    force = of.force_n + change
    return read_only(force), read_only(np.maximum(force - half, 0.0)), read_only(force + half)
