"""Gas charge: too little to keep the oil behind the piston together."""

from __future__ import annotations

import math

from dampkit.faults.finding import Finding
from dampkit.faults.judge import PRACTICE, Case, Measure, finding

MONOTUBE_LOW_BAR = 15.0  # three quarters of the 20 bar that the trade gives as the least charge; common practice
ZERO_N = 3.0  # standard uncertainty of a declared cell zero; common practice


def low_gas_pressure(case: Case) -> Finding | None:
    """A monotube whose rod is pushed out with too little force for its charge.

    Gas force over the rod's area. Only with the cell's zero declared, or the zero's error would count as gas.
    A compression that meets a ceiling and a rebound that starts late, the more the faster, are told as well.
    Source: own, after [dixon2007] ch. 9; the ceiling is about gas pressure times the annulus. Confused with a cell zero.
    A twin tube may be built with no charge at all, so nothing is concluded there.
    """
    gas, spec = case.damper.gas_force_n, case.spec
    if gas is None or spec is None or case.kind != "monotube" or not case.curves.run.zero_known:
        return None
    if spec.damper.rod_diameter_mm is None:
        return None
    area = 0.25 * math.pi * (1e-3 * spec.damper.rod_diameter_mm) ** 2
    bar = gas.value / area / 1e5
    spread = math.hypot(gas.half_width / 1.96, ZERO_N) / area / 1e5
    measure = Measure("gas pressure from the gas force", bar, spread, "bar", MONOTUBE_LOW_BAR, PRACTICE, "below")
    sentence = f"Gas pressure low: about {bar:.1f} bar over the air" + _starved(case)
    found = case.held["rebound"]
    return finding("low_gas_pressure", [measure], sentence, found[-1].stage if found else None)


def _starved(case: Case) -> str:
    stages = case.held["rebound"]
    if len(stages) < 2:
        return ""
    grown = 1e3 * (stages[-1].early_m - stages[0].early_m)
    return f", and rebound starts {grown:.0f} mm late at {stages[-1].peak_velocity_m_s:.2g} m/s" if grown > 3 else ""
