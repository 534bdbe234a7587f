"""Is a fault that was put in beyond what a sound unit may have? From the plant and its truth, never from the analysis."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from dampkit.damper.kinds import facts_of
from dampkit.faults.discs import GREASE_LIMIT, STICK_LIMIT
from dampkit.faults.fade import LIMIT_SHARE as FADE_SHARE
from dampkit.faults.friction import TIGHT_N, TIGHT_SHARE
from dampkit.faults.late import CLEARS_LIMIT_MM
from dampkit.faults.play import PLAY_LIMIT_MM
from dampkit.quantities import DIRECTIONS
from dampkit.virtual.mixed import REFERENCE_C, MixedCase
from dampkit.virtual.mixed_truth import StageTruth
from dampkit.virtual.oil import ATMOSPHERE_PA
from dampkit.virtual.plant import Plant
from dampkit.virtual.truth import bench_reading, hydraulic_force

TOLERANCE, FLOOR_N = 0.15, 25.0  # window of the made-up damper file
CHARGE = 0.85  # of the charge declared for a sound unit: its tolerance, see `damper.declared.Gas`


def is_beyond(case: MixedCase, code: str) -> bool:
    """Whether the unit is out of the limits that the guide gives for this fault, or its forces out of their window."""
    return BEYOND[code](case)


def _forces(case: MixedCase) -> bool:
    """Any reading at a reference speed out of its window, at the temperature of the reference."""
    v = case.speeds_m_s
    for side in DIRECTIONS:
        good, now = (bench_reading(plant, side, v, REFERENCE_C) for plant in (case.sound, case.plant))
        if (np.abs(now - good) > np.maximum(TOLERANCE * good, FLOOR_N)).any():
            return True
    return False


def _gas_travel(case: MixedCase) -> bool:
    """Travel that the gas in a working chamber takes up at the pressure of the reserve, in its worst stage."""
    return max((max(_travel_mm(case.plant, s)) for s in case.truth.stages), default=0.0) > _late_mm(case)


def _travel_mm(plant: Plant, stage: StageTruth) -> tuple[float, float]:
    ring, bore = (area * plant.arm_ratio for area in plant.areas_m2)
    below = bore - ring if plant.has_foot_valve else bore
    squeezed = (ATMOSPHERE_PA / plant.gas_pressure_pa) ** (1.0 / plant.oil.gas_exponent)
    above_m3, below_m3 = stage.rod_gas_m3
    return 1e3 * squeezed * above_m3 / ring, 1e3 * squeezed * below_m3 / below


def _late_mm(case: MixedCase) -> float:
    return facts_of(case.plant.kind).late_limit_mm


def _bubbles(case: MixedCase) -> bool:
    """Travel that the bubbles of the lower chamber take up at the pressure of the reserve."""
    plant = case.plant
    ring, bore = (area * plant.arm_ratio for area in plant.areas_m2)
    squeezed = (ATMOSPHERE_PA / plant.gas_pressure_pa) ** (1.0 / plant.oil.gas_exponent)
    below = bore - ring if plant.has_foot_valve else bore
    return bool(1e3 * squeezed * plant.oil.free_gas_ratio * plant.chamber_m3[1] / below > _late_mm(case))


def _pocket(case: MixedCase) -> bool:
    """Depth of the pockets at the start."""
    plant = case.plant
    ring, bore = (area * plant.arm_ratio for area in plant.areas_m2)
    squeezed = (ATMOSPHERE_PA / plant.gas_pressure_pa) ** (1.0 / plant.oil.gas_exponent)
    below = bore - ring if plant.has_foot_valve else bore
    above_m3, below_m3 = plant.trapped_gas_m3
    return bool(1e3 * squeezed * max(above_m3 / ring, below_m3 / below) > CLEARS_LIMIT_MM)


def _starved(case: MixedCase) -> bool:
    """The refill valve would need more pressure than the reserve has, at some stage: the chamber does not fill."""
    plant = case.plant
    ring, bore = (area * plant.arm_ratio for area in plant.areas_m2)
    area = bore - ring if plant.has_foot_valve else ring
    fastest = max((max(s.peak_velocity_m_s) for s in case.truth.stages), default=0.0)
    drop = 0.5 * float(plant.oil.density_kg_m3(REFERENCE_C)) * (fastest * area / plant.foot_intake.bleed_m2) ** 2
    return bool(drop > plant.gas_pressure_pa)


def _fade(case: MixedCase) -> bool:
    """Share of the oil's force lost at any stage by what the unit has warmed since the first, beyond what it loses sound."""
    return any(_lost(case, case.plant, s) > _lost(case, case.sound, s) + FADE_SHARE for s in case.truth.stages[1:])


def _lost(case: MixedCase, plant: Plant, stage: StageTruth) -> float:
    cold_c, total = case.truth.stages[0].temperature_c, [0.0, 0.0]
    for side, speed in zip(DIRECTIONS, stage.peak_velocity_m_s, strict=True):
        for i, celsius in enumerate((cold_c, stage.temperature_c)):
            total[i] += float(hydraulic_force(plant, side, np.array([speed]), celsius)[0])
    return 1.0 - total[1] / total[0] if total[0] > 0 else 0.0


def _friction(case: MixedCase) -> bool:
    limit = facts_of(case.plant.kind).friction_limit_n.get("car")
    return limit is not None and case.plant.friction.sliding_n > limit[0]


def _tight(case: MixedCase) -> bool:
    friction = case.plant.friction
    return friction.bump_ratio * friction.sliding_n > max(TIGHT_N, TIGHT_SHARE * friction.sliding_n)


BEYOND: dict[str, Callable[[MixedCase], bool]] = {
    "low_oil": _gas_travel,
    "aerated_oil": _bubbles,
    "low_gas_pressure": lambda c: (
        c.plant.gas_pressure_pa - ATMOSPHERE_PA < CHARGE * (c.sound.gas_pressure_pa - ATMOSPHERE_PA)
    ),
    "internal_leak": _forces,
    "weak_blowoff": _forces,
    "blocked_bleed": _forces,
    "high_friction": _friction,
    "bent_rod": _tight,
    "loose_mount": lambda c: 1e3 * c.plant.play_m > PLAY_LIMIT_MM,
    "fade": _fade,
    "trapped_air": _pocket,
    "starved_refill": _starved,
    "swapped_valves": _forces,
    "dead_rebound": _forces,
    "glazed_discs": _forces,
    "sticking_discs": lambda c: c.plant.friction.breakaway_ratio > STICK_LIMIT,
    "greased_discs": lambda c: c.plant.friction.viscous_n_s_m > GREASE_LIMIT * c.plant.friction.sliding_n,
}
