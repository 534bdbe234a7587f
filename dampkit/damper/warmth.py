"""What a valve would do with its oil at another temperature: warm oil is thin, and leaks more through a clearance."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from dampkit.damper.areas import EXPANSION_PER_K
from dampkit.damper.fitted import ValveFit
from dampkit.damper.oil import viscosity_mm2_s, walther_constants
from dampkit.damper.valve import Valve
from dampkit.quantities import read_only

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


def brought_to(fit: ValveFit, is_c: float | None, to_c: float) -> ValveFit:
    """The fitted valve at another temperature [degC], its curve's interval wider by what the oil leaves open.

    As it is where the log does not tell the temperature.
    """
    if is_c is None:
        return fit
    valve = at_temperature(fit.valve, is_c, to_c)
    force = valve.force(fit.velocity_m_s)
    change = force - fit.force_n
    half = np.hypot(0.5 * (fit.high_n - fit.low_n), 1.96 * UNSURE * np.abs(change))
    return replace(
        fit,
        valve=valve,
        force_n=read_only(force),
        low_n=read_only(np.maximum(force - half, 0.0)),
        high_n=read_only(force + half),
    )
