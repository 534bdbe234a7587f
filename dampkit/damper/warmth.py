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

    As it is where the log does not hold the temperature.
    """
    if unit.temperature_c is None or not any(side.law for side in unit.sides):
        return unit
    rebound, compression = (_side(side, unit.temperature_c, to_c) for side in unit.sides)
    return replace(unit, rebound=rebound, compression=compression, temperature_c=to_c)


def _side(side: Side, is_c: float, to_c: float) -> Side:
    law, read = side.law, side.reading
    if law is None or read is None:
        return side
    valve = at_temperature(law.valve, is_c, to_c)

    def moved(of: Law | Reading) -> tuple[Array, Array, Array]:
        change = valve.force(of.velocity_m_s) - law.valve.force(of.velocity_m_s)
        half = np.hypot(0.5 * (of.high_n - of.low_n), Z95 * UNSURE * np.abs(change))
        force = of.force_n + change
        return read_only(force), read_only(np.maximum(force - half, 0.0)), read_only(force + half)

    (f, low, high), (rf, rlow, rhigh) = moved(law), moved(read)
    return replace(
        side,
        law=replace(law, valve=valve, force_n=f, low_n=low, high_n=high),
        reading=replace(read, force_n=rf, low_n=rlow, high_n=rhigh),
    )
