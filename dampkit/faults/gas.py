"""Gas charge: too little to keep the oil behind the piston together."""

from __future__ import annotations

import math

from dampkit.faults.finding import Finding
from dampkit.faults.judge import Case, Measure, finding
from dampkit.faults.take_up import LOST_LIMIT_MM, PRACTICE, READING_MM

MONOTUBE_LOW_BAR = 10.0  # half of the 20 bar that the trade gives as the least charge of a monotube; common practice


def low_gas_pressure(case: Case) -> Finding | None:
    """A monotube with little gas force whose rebound starts late, the more the faster: the rod side has cavitated.

    Source: own, after [dixon2007] ch. 9; the ceiling of the compression force is about gas pressure times the annulus.
    """
    gas, spec = case.damper.gas_force_n, case.spec
    if gas is None or spec is None or spec.damper.kind != "monotube" or not case.curves.run.zero_known:
        return None
    found = case.damper.take_ups.get("rebound", ())
    if spec.damper.rod_diameter_mm is None or len(found) < 3:
        return None
    area = 0.25 * math.pi * (1e-3 * spec.damper.rod_diameter_mm) ** 2
    bar = gas.value / area / 1e5
    fast, slow = 1e3 * found[-1].half_m, 1e3 * found[0].half_m
    measures = [
        Measure(
            "gas pressure from the gas force",
            bar,
            gas.half_width / 1.96 / area / 1e5,
            "bar",
            MONOTUBE_LOW_BAR,
            PRACTICE,
            "below",
        ),
        Measure(
            "lost motion entering rebound, fastest less slowest stage",
            fast - slow,
            READING_MM,
            "mm",
            LOST_LIMIT_MM,
            PRACTICE,
        ),
    ]
    sentence = f"Gas pressure low: about {bar:.1f} bar over the air, and rebound starts {fast:.0f} mm late at {found[-1].peak_velocity_m_s:.2g} m/s"
    return finding("low_gas_pressure", measures, sentence, found[-1].stage)
