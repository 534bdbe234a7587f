"""Gas charge: too little to keep the oil behind the piston together."""

from __future__ import annotations

import math
from collections.abc import Iterator

from dampkit.faults.finding import Measure
from dampkit.faults.under_test import UnderTest
from dampkit.quantities import Z95

MONOTUBE_LOW_BAR = 15.0  # three quarters of the 20 bar that the trade gives as the least charge; common practice
ZERO_N = 3.0  # standard uncertainty of a declared cell zero; common practice


def gas_measures(test: UnderTest) -> Iterator[Measure]:
    """Gas pressure of a monotube from the force that pushes its rod out. Only with the cell's zero declared.

    Gas force over the rod's area. A twin tube may be built with no charge at all, so it has no limit.
    Source: own, after [dixon2007] ch. 9. Confused with a cell zero.
    """
    gas, spec = test.unit.gas_force_n, test.spec
    if not test.loops or gas is None or spec is None or test.kind != "monotube" or not test.record.zero_known:
        return
    if spec.damper.rod_diameter_mm is None:
        return
    area = 0.25 * math.pi * (1e-3 * spec.damper.rod_diameter_mm) ** 2
    bar, doubt = gas.value / area / 1e5, math.hypot(gas.half_width / Z95, ZERO_N) / area / 1e5
    rebound = test.unit.rebound.take_ups
    grown = 1e3 * (rebound[-1].early_m - rebound[0].early_m) if len(rebound) > 1 else 0.0
    yield Measure(
        "gas_pressure", bar, doubt, "bar", MONOTUBE_LOW_BAR, "common practice", "below",
        stage=rebound[-1].stage if rebound else None, figures=(("starts_late_mm", grown),),
    )  # fmt: skip
