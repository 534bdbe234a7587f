"""The charge of a monotube against its data sheet, and the force of the gas at any place and temperature."""

from __future__ import annotations

from typing import Literal

from dampkit.damper.areas import EXPANSION_PER_K, rod_area_m2
from dampkit.damper.declared import Gas
from dampkit.damper.gas_spring import AIR_PA, FAST, SLOW, GasSpring, volume_from_stiffness_m3
from dampkit.faults.gas import gas_measures
from dampkit.faults.under_test import UnderTest
from dampkit.outcome.decision_record import GasForceRecord, GasRecord
from dampkit.quantities import Estimate

COLD_C, HOT_C = 20.0, 80.0  # between which a damper works; common practice, no source
LEAST_STIFFNESS_N_M = 50.0  # of a gas spring that a log shows apart from a slope of friction; own choice
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
    if stiffness is None or force is None or stiffness < LEAST_STIFFNESS_N_M or not test.record.zero_known:
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
        for celsius in (COLD_C, HOT_C)
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
