"""The oil of a damper, and the charge of a monotube against its data sheet with the force of the gas anywhere.

A low oil level is three figures that are not one another: gas drawn in, where the foot valve uncovers, oil to add.
What fill, level and weight say by themselves is in `fill_state`, whatever the test found.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any, Literal

from dampkit.damper.areas import DECLARED_AT_C, DENSITY_KG_M3, EXPANSION_PER_K, rod_area_m2, working_area_m2
from dampkit.damper.declared import DamperSpec, Gas, Oil
from dampkit.damper.gas_spring import AIR_PA, FAST, SLOW, GasSpring, volume_from_stiffness_m3
from dampkit.faults.finding import Finding
from dampkit.faults.gas import AIR_BAR, gas_measures
from dampkit.faults.held_gas import COLUMN_M, GAS_EXPONENT, HeldGas, held_gas, reserve_bar
from dampkit.faults.under_test import UnderTest
from dampkit.outcome.decision_record import FillRecord, GasForceRecord, GasRecord, OilRecord
from dampkit.outcome.inspection import Inspection
from dampkit.quantities import Z95, Estimate

ML_PER_M3 = 1e6
CYLINDER_SHARE = 0.01  # standard uncertainty of a measured fill and of one declared, each; common practice
SIZE_MM = 0.05  # standard uncertainty of a diameter taken with a caliper; common practice
BUBBLES, BUBBLES_ERROR = 1e-3, 5e-4  # free gas in good oil by volume at one atmosphere; common practice, no source
OIL_AT_C, HOT_C = 20.0, 80.0  # between which a damper works and its oil needs room to swell; common practice
FILL_UNKNOWN_ML = (200.0, 80.0)  # oil of a damper of which no fill is declared; common practice, no source
LEAST_STIFFNESS_N_M = 50.0  # of a gas spring that a log shows apart from a slope of friction; own choice
MissingIs = Literal["measured", "by the level found", "to the level", "at least"] | None
Known = Literal["declared", "from the gas spring"] | None


def gas_state(test: UnderTest) -> GasRecord | None:
    """None without a declared charge. Ideal gas at rest, p V^1.4 where it is moved fast; see `damper.gas_spring`."""
    gas, rod = None if test.spec is None else test.spec.gas, rod_area_m2(test.spec)
    if gas is None:
        return None
    found = next((m for m in gas_measures(test) if m.key == "gas_pressure"), None)
    there = None if found is None else Estimate.from_standard_error(found.value, found.uncertainty)
    missing = None if found is None else Estimate.from_standard_error(gas.pressure_bar - found.value, found.uncertainty)
    volume, is_ = (None, None) if rod is None else _volume_m3(test, gas, rod)
    return GasRecord(
        declared_bar=gas.pressure_bar,
        found_bar=there,
        add_bar=missing,
        volume_ml=None if volume is None else 1e6 * volume,
        volume_is=is_,
        forces=() if volume is None or rod is None else _forces(test, gas, volume, rod),
    )


def _volume_m3(test: UnderTest, gas: Gas, rod_m2: float) -> tuple[float | None, Known]:
    """In the middle of the stroke. Declared it holds where the charge does."""
    if gas.volume_ml is not None:
        middle = 1e-6 * gas.volume_ml - 1e-3 * gas.position_mm * rod_m2
        return (middle, "declared") if middle > 0 else (None, None)
    stiffness, force = test.unit.gas_stiffness_n_m, test.unit.gas_force_n
    if stiffness is None or force is None or stiffness < LEAST_STIFFNESS_N_M or not test.zero_known:
        return None, None
    return volume_from_stiffness_m3(stiffness, AIR_PA + force.value / rod_m2, rod_m2), "from the gas spring"


def _forces(test: UnderTest, gas: Gas, volume_m3: float, rod_m2: float) -> tuple[GasForceRecord, ...]:
    """Of the declared charge at the ends and the middle of the longest stroke."""
    oil = test.spec.oil if test.spec else None
    fill = 0.0 if oil is None or oil.fill_ml is None else 1e-6 * oil.fill_ml
    out_m = 1e-3 * gas.position_mm
    charged = GasSpring(AIR_PA + 1e5 * gas.pressure_bar, gas.temperature_c, volume_m3 + rod_m2 * out_m, rod_m2, fill)
    half_m = 0.5 * max((x.stage.stroke_m for x in test.loops), default=0.0)
    return tuple(
        GasForceRecord(
            out_mm=1e3 * place,
            temperature_c=celsius,
            force_n=charged.force_n(place - out_m, celsius, SLOW),
            fast_n=_fast(charged, place, out_m, celsius),
        )
        for celsius in (OIL_AT_C, HOT_C)
        for place in dict.fromkeys((-half_m, 0.0, half_m))
    )


def _fast(charged: GasSpring, place_m: float, charged_at_m: float, celsius: float) -> float | None:
    """Brought to the middle slowly and from there fast."""
    middle = charged.pressure_at_pa(-charged_at_m, celsius, SLOW)
    if middle is None:
        return None
    swollen = charged.oil_m3 * EXPANSION_PER_K * (celsius - charged.temperature_c)
    volume = charged.volume_m3 - swollen - charged.rod_m2 * charged_at_m
    return GasSpring(middle, celsius, volume, charged.rod_m2).force_n(place_m, celsius, FAST)


def of_oil_and_gas(test: UnderTest, findings: Sequence[Finding], sheet: Inspection | None) -> dict[str, Any]:
    """By their names in the result."""
    return {"oil": oil_state(test, findings, sheet), "fill": fill_state(test.spec, sheet), "gas": gas_state(test)}


def oil_state(test: UnderTest, findings: Sequence[Finding], sheet: Inspection | None) -> OilRecord | None:
    """None unless a low level of a twin tube is found or suspected.

    Rod that comes out is made up for from the reserve; once its foot valve is bare, every further millimetre draws in air
    of the rod's cross-section, and the next stroke in is idle for as long. So the idle travel tells the gas of one
    stroke, and the outer end of the stroke less that travel the place where the valve uncovers. What is missing is more:
    the rod from there to its full extension, and the oil that should stand over the valve then.
    Source: own, from the volumes of a twin tube.
    """
    if test.kind != "twin-tube" or test.spec is None or not any(f.code == "low_oil" for f in findings):
        return None
    oil, rod = test.spec.oil or Oil(), rod_area_m2(test.spec)
    drawn = _drawn_mm(test)
    gas = uncovers = None
    if drawn is not None and rod is not None:
        gas = drawn.scaled(1e-3 * rod * ML_PER_M3)
        middle, places = _middle_mm(test), held_gas(test, "compression")
        uncovers = Estimate.from_standard_error(1e3 * places[0].outer_m - middle - drawn.value, drawn.half_width / Z95)
    to_add, is_ = _to_add(test.spec, sheet, oil, uncovers)
    warmed = _cooled_ml(test, oil) if is_ in ("to the level", "at least") else None
    if to_add is not None and warmed is not None:
        to_add = _sum(to_add, warmed)
    return OilRecord(
        gas_in_chamber_ml=gas,
        uncovers_at_mm=None if uncovers is None else uncovers.value,
        missing_ml=None if to_add is None else to_add.value,
        missing_is=is_,
        to_add_ml=to_add,
        fill_to_mm=oil.height_mm,
        grade=oil.grade,
    )


def fill_state(spec: DamperSpec | None, sheet: Inspection | None) -> FillRecord | None:
    """What fill, level and weight say by themselves; None where nothing of it is declared or measured."""
    oil, density = (spec.oil if spec else None) or Oil(), _density_g_ml(spec)
    fill, ring = _fill_ml(oil, density), oil.ring_m2
    swells = None if fill is None else fill * EXPANSION_PER_K * (HOT_C - OIL_AT_C)
    room = None if oil.air_space_mm is None or ring is None else 1e-3 * oil.air_space_mm * ring * ML_PER_M3
    gained = lost = None
    if sheet is not None and sheet.weight_in_g is not None and sheet.weight_out_g is not None:
        gained = (sheet.weight_out_g - sheet.weight_in_g) / density
    if sheet is not None and sheet.soak_hours and sheet.soak_lost_g is not None:
        lost = sheet.soak_lost_g / density * 24.0 / sheet.soak_hours
    level = None if sheet is None else _by_level(oil, sheet)
    if all(x is None for x in (swells, room, gained, lost, level)):
        return None
    return FillRecord(
        swells_ml=swells,
        room_ml=room,
        has_room=None if swells is None or room is None else room > swells,
        gained_ml=gained,
        lost_ml_per_day=lost,
        to_level_ml=level,
    )


def _drawn_mm(test: UnderTest) -> Estimate | None:
    """Rod's travel that the gas drawn in stands for: all that the stroke closes, less the bubbles of good oil."""
    places, ring, rod = held_gas(test, "compression"), working_area_m2(test.spec, "rebound"), rod_area_m2(test.spec)
    if not places or ring is None or rod is None:
        return None
    here: HeldGas = places[0]
    column_mm = 1e3 * COLUMN_M * (ring + rod) / rod * (AIR_BAR / reserve_bar(test)[1]) ** (1.0 / GAS_EXPONENT)
    error = math.hypot(1e3 * here.error_m, BUBBLES_ERROR * column_mm)
    return Estimate.from_standard_error(max(1e3 * here.travel_m - BUBBLES * column_mm, 0.0), error)


def _middle_mm(test: UnderTest) -> float:
    x = test.moving[0].displacement_m
    return 0.5e3 * float(x.max() + x.min())


def _to_add(
    spec: DamperSpec, sheet: Inspection | None, oil: Oil, uncovers: Estimate | None
) -> tuple[Estimate | None, MissingIs]:
    """By what was measured, else by the sizes; at least what keeps the valve covered where no level is declared."""
    fill = _fill_ml(oil, _density_g_ml(spec))
    if sheet is not None and fill is not None and sheet.oil_found_ml is not None:
        error = CYLINDER_SHARE * math.hypot(fill, sheet.oil_found_ml)
        return Estimate.from_standard_error(fill - sheet.oil_found_ml, error), "measured"
    found = None if sheet is None else _by_level(oil, sheet)
    if found is not None:
        return found, "by the level found"
    rod, full, middle = rod_area_m2(spec), oil.full_extension_mm, oil.mid_position_mm
    if uncovers is None or rod is None or full is None or middle is None:
        return None, None
    length, ruler = full - middle - uncovers.value, oil.length_tolerance_mm / Z95
    rod_mm, along = 2e3 * math.sqrt(rod / math.pi), math.hypot(uncovers.half_width / Z95, math.sqrt(2.0) * ruler)
    error = 1e-3 * math.hypot(rod * along, 2.0 * rod * SIZE_MM / rod_mm * length) * ML_PER_M3
    by_rod = Estimate.from_standard_error(1e-3 * length * rod * ML_PER_M3, error)
    height, ring = oil.height_mm, oil.ring_m2
    if height is None or ring is None:
        return by_rod, "at least"
    return _sum(by_rod, _in_ring(oil, height, ring)), "to the level"


def _by_level(oil: Oil, sheet: Inspection) -> Estimate | None:
    """From the level found up to the maker's, where its surface is known."""
    wanted, found, ring = oil.air_space_mm, sheet.air_space_mm, oil.ring_m2
    if oil.level_mm is not None and oil.reserve_length_mm is not None:
        wanted = oil.reserve_length_mm - oil.level_mm
    if wanted is None or found is None or ring is None:
        return None
    return _in_ring(oil, found - wanted, ring)


def _in_ring(oil: Oil, height_mm: float, ring_m2: float) -> Estimate:
    """Oil of a height in the reserve."""
    lengths = math.sqrt(2.0) * oil.length_tolerance_mm / Z95
    around = 0.25e-6 * math.pi * 2.0 * SIZE_MM * math.hypot(oil.reserve_bore_mm or 0.0, oil.tube_outer_mm or 0.0)
    error = 1e-3 * math.hypot(lengths * ring_m2, height_mm * around) * ML_PER_M3
    return Estimate.from_standard_error(1e-3 * height_mm * ring_m2 * ML_PER_M3, error)


def _cooled_ml(test: UnderTest, oil: Oil) -> Estimate | None:
    """How much less the oil fills cold than in the slow stages, which the level was read on."""
    stages = [x.stage.temperature_c for x in test.moving if x.stage.temperature_c is not None]
    if not stages:
        return None
    fill = _fill_ml(oil, _density_g_ml(test.spec))
    amount, doubt = FILL_UNKNOWN_ML if fill is None else (fill, CYLINDER_SHARE * fill)
    warm = EXPANSION_PER_K * (stages[0] - DECLARED_AT_C)
    return Estimate.from_standard_error(warm * amount, math.hypot(warm * doubt, EXPANSION_PER_K * 2.0 * amount))


def _density_g_ml(spec: DamperSpec | None) -> float:
    return 1e-3 * ((spec.damper.oil_density_kg_m3 if spec else None) or DENSITY_KG_M3)


def _fill_ml(oil: Oil, density_g_ml: float) -> float | None:
    if oil.fill_ml is not None:
        return oil.fill_ml
    return None if oil.fill_g is None else oil.fill_g / density_g_ml


def _sum(a: Estimate, b: Estimate) -> Estimate:
    return Estimate.from_standard_error(a.value + b.value, math.hypot(a.half_width, b.half_width) / Z95)
