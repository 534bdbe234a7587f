"""A gas pressure brought to the position and temperature for which the charge is declared, by the gas laws."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from dampkit.damper.declared import DamperSpec
from dampkit.faults.gas import gas_measures, gas_pressure_bar
from dampkit.faults.under_test import UnderTest
from tests.faults.made_unit import ROD_M, Made, test_of

AIR = 1.01325


def charged(gas_bar: float, celsius: float, stiffness_n_m: float, **gas: float) -> UnderTest:
    """A made unit at a temperature; `gas` is what the data sheet says."""
    test = test_of(Made("monotube", gas_bar=gas_bar))
    assert test.spec is not None
    spec = DamperSpec.model_validate({**test.spec.model_dump(exclude_none=True), "gas": gas})
    unit = replace(test.unit, temperature_c=celsius, gas_stiffness_n_m=stiffness_n_m)
    return replace(test, spec=spec, unit=unit)


def test_pressure_is_gas_force_over_rod_area() -> None:
    bar = gas_pressure_bar(test_of(Made("monotube", gas_bar=22.0)))
    assert bar is not None
    assert bar.value == pytest.approx(22.0)


def test_a_warm_unit_is_brought_to_the_temperature_of_the_charge() -> None:
    """Constant volume: absolute pressure over absolute temperature stays (Gay-Lussac)."""
    (made,) = gas_measures(charged(25.0, 60.0, 0.0, pressure_bar=25.0))
    assert made.value == pytest.approx((25.0 + AIR) * 293.15 / 333.15 - AIR)
    assert made.limit == pytest.approx(25.0 * 0.85)


def test_the_place_of_the_charge_goes_by_the_gas_spring() -> None:
    """60 mm further out the gas force is less by stiffness times travel: 400 N/m over 60 mm are 24 N."""
    (made,) = gas_measures(charged(25.0, 20.0, 400.0, pressure_bar=25.0, position_mm=60.0))
    area = 0.25 * math.pi * ROD_M**2
    assert made.value == pytest.approx(25.0 - 24.0 / area / 1e5)


@pytest.mark.parametrize(("gas_bar", "beyond"), [(25.0, False), (23.0, False), (17.0, True)])
def test_the_declared_tolerance_is_the_limit(gas_bar: float, beyond: bool) -> None:
    (made,) = gas_measures(charged(gas_bar, 20.0, 0.0, pressure_bar=25.0, tolerance_percent=20.0))
    assert (made.beyond > 0.95) == beyond


def test_a_charge_is_refused_for_a_kind_that_shows_none() -> None:
    with pytest.raises(ValueError, match="expected a monotube"):
        DamperSpec.model_validate({"damper": {"kind": "twin-tube"}, "gas": {"pressure_bar": 5.0}})
