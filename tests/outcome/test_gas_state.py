"""What a declared charge comes to, against figures worked out by hand. All made up."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from dampkit.damper.declared import DamperSpec
from dampkit.outcome.oil_state import gas_state
from tests.faults.made_unit import Made, test_of

ROD_MM2 = 0.25 * math.pi * 12.0**2


def test_what_is_missing_is_the_charge_less_what_is_found() -> None:
    found = gas_state(test_of(Made("monotube", gas_bar=16.0, charge_bar=22.0)))
    assert found is not None
    assert found.add_bar is not None
    assert found.add_bar.value == pytest.approx(6.0, abs=0.05)
    assert found.add_bar.low < 6.0 < found.add_bar.high
    assert (found.volume_ml, found.forces) == (None, ())  # neither declared nor shown by a gas spring


def test_force_at_both_ends_cold_and_hot() -> None:
    """22 bar in 60 ml at 20 degC, declared 10 mm further out than the middle: 1.131 ml less there, so 22.45 bar."""
    test = test_of(Made("monotube"))
    assert test.spec is not None
    gas = {"pressure_bar": 22.0, "volume_ml": 60.0, "position_mm": 10.0}
    spec = DamperSpec.model_validate({**test.spec.model_dump(exclude_none=True), "gas": gas})
    found = gas_state(replace(test, spec=spec))
    assert found is not None
    force = {(f.out_mm, f.temperature_c): f.force_n for f in found.forces}
    assert sorted({place for place, _ in force}) == [-25.0, 0.0, 25.0]
    middle = 23.01325 * 60.0 / (60.0 - 1e-2 * ROD_MM2)
    assert force[0.0, 20.0] == pytest.approx(0.1 * (middle - 1.01325) * ROD_MM2, rel=1e-6)
    assert force[0.0, 80.0] == pytest.approx(0.1 * (middle * 353.15 / 293.15 - 1.01325) * ROD_MM2, rel=1e-6)
    assert found.volume_ml == pytest.approx(60.0 - 1e-2 * ROD_MM2)
    assert all(f.fast_n is not None and f.force_n is not None for f in found.forces)


def test_a_twin_tube_has_no_charge_to_be_told() -> None:
    assert gas_state(test_of(Made())) is None
