"""Gas charge: less than was declared for this unit, or too little to keep the oil together at the speeds tested."""

from __future__ import annotations

import math
from collections.abc import Iterator

from dampkit.damper.areas import rod_area_m2, working_area_m2
from dampkit.damper.declared import Gas
from dampkit.faults.finding import Measure
from dampkit.faults.under_test import UnderTest
from dampkit.quantities import Z95, Estimate

ZERO_N = 3.0  # standard uncertainty of a declared cell zero; common practice
AIR_BAR = 1.01325
KELVIN = 273.15
YIELDS_MM = 1.5  # growth with speed of the travel stored entering compression that shows the oil parting; own, of up to
# 0.2 mm in sound made-up monotubes and 5 to 14 mm in ones whose rebound chamber is sucked empty
STORED_MM = 0.15  # standard uncertainty of that growth


def gas_pressure_bar(test: UnderTest) -> Estimate | None:
    """Gas pressure over the air in the middle of the stroke, bar; None without the cell's zero and the rod's size.

    Gas force over the rod's area. Source: own, after [dixon2007] ch. 9. Confused with a cell zero.
    """
    gas, area_m2 = test.unit.gas_force_n, rod_area_m2(test.spec)
    if gas is None or area_m2 is None or not test.zero_known:
        return None
    doubt = math.hypot(gas.half_width / Z95, ZERO_N)
    return Estimate.from_standard_error(gas.value, doubt).scaled(1e-5 / area_m2)


def gas_measures(test: UnderTest) -> Iterator[Measure]:
    """Against the charge declared, with its tolerance; without one against what the unit's own forces take.

    A pressure by itself is no fault: how much there should be is on the data sheet. Without that, too little is what
    shows: the oil behind the piston parts.
    """
    bar = gas_pressure_bar(test)
    if not test.loops or bar is None or test.spec is None or test.facts.gas != "charge":
        return
    declared = test.spec.gas
    if declared is not None:
        yield _against_charge(test, bar, declared)
    else:
        yield from _parting(test, bar)


def _against_charge(test: UnderTest, bar: Estimate, declared: Gas) -> Measure:
    """The pressure brought to the position and temperature for which the charge holds.

    Along the stroke by the gas spring of the log; with temperature at constant volume, p over T. Source: ideal gas.
    """
    area_m2, stiffness = rod_area_m2(test.spec), test.unit.gas_stiffness_n_m
    assert area_m2 is not None
    moved = 0.0 if stiffness is None else 1e-5 * stiffness * 1e-3 * declared.position_mm / area_m2
    there = bar.value - moved
    if test.unit.temperature_c is not None:
        ratio = (declared.temperature_c + KELVIN) / (test.unit.temperature_c + KELVIN)
        there = (there + AIR_BAR) * ratio - AIR_BAR
    limit = declared.pressure_bar * (1 - 0.01 * declared.tolerance_percent)
    return Measure("gas_pressure", there, bar.half_width / Z95, "bar", limit, "declared", "below")


def _parting(test: UnderTest, bar: Estimate) -> Iterator[Measure]:
    """Pressure against the drop that compression makes over the piston, and how much later its force comes when fast.

    Behind the piston stands gas pressure less that drop; where nothing is left, the oil there parts. A base valve takes
    part of the drop, so the pressure alone proves nothing: the loops have to show it too.
    Source: own, after [dixon2007] ch. 9 (cavitation of monotubes).
    """
    area_m2, read = working_area_m2(test.spec, "compression"), test.unit.compression.reading
    if area_m2 is None or read is None:
        return
    most_n = float(read.force_n.max()) - test.unit.friction_used_n
    reference = None if test.spec is None else test.spec.reference
    if reference is not None:
        within = [
            force
            for v, force in zip(reference.velocity_m_s, reference.compression_force_n, strict=True)
            if v <= 1.02 * read.velocity_m_s[-1]
        ]
        most_n = max([most_n, *(force - test.unit.friction_used_n for force in within)])
    taken = 1e-5 * most_n / area_m2
    yield Measure("gas_short", bar.value, bar.half_width / Z95, "bar", taken, "expected of this unit", "below")
    ups = sorted(test.unit.compression.take_ups, key=lambda t: t.peak_velocity_m_s)
    if len(ups) > 1:
        grown = 1e3 * (ups[-1].stored_m - ups[0].stored_m)
        yield Measure(
            "gas_yields", grown, STORED_MM, "mm", YIELDS_MM, "statistical", direction="compression",
            stage=ups[-1].stage, velocity_m_s=ups[-1].peak_velocity_m_s,
        )  # fmt: skip
