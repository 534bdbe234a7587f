"""Gas drawn in, place where the foot valve uncovers, and oil missing, against volumes worked out by hand. All made up."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

import pytest

from dampkit.damper.declared import DamperSpec
from dampkit.faults.diagnose import diagnose
from dampkit.outcome.inspection import Seen
from dampkit.outcome.oil_state import oil_state
from dampkit.outcome.result import OilRecord
from tests.faults.made_unit import Made, test_of

ROD_MM2 = 0.25 * math.pi * 12.0**2
GEOMETRY = {"full_extension_mm": 200.0, "mid_position_mm": 100.0}


def state(drained_ml: float | None = None, **oil: Any) -> tuple[OilRecord, float]:
    """The record, and the idle travel that the finding rests on, mm."""
    test = test_of(Made(void_mm={"compression": 14.0}))
    findings = diagnose(test).findings
    assert test.spec is not None
    declared = DamperSpec.model_validate({**test.spec.model_dump(exclude_none=True), "oil": oil})
    found = oil_state(replace(test, spec=declared), findings, Seen(oil_found_ml=drained_ml))
    assert found is not None
    return found, next(m.value for f in findings for m in f.evidence if m.key == "late")


def test_gas_is_idle_travel_times_rod_and_the_place_is_the_end_of_the_stroke_less_that_travel() -> None:
    found, late = state()
    assert found.gas_in_chamber_ml is not None
    assert found.gas_in_chamber_ml.value == pytest.approx(1e-3 * late * ROD_MM2)
    assert found.uncovers_at_mm == pytest.approx(25.0 - late)  # stroke of 50 mm
    assert (found.missing_ml, found.missing_is) == (None, None)


def test_with_the_rods_travel_declared_at_least_so_much_is_missing() -> None:
    """From the place where the valve uncovers to full extension: (200 - 100 - place) of rod. Far more than the gas."""
    found, late = state(**GEOMETRY)
    assert found.missing_is == "at least"
    assert found.missing_ml == pytest.approx(1e-3 * (100.0 - (25.0 - late)) * ROD_MM2)
    assert found.gas_in_chamber_ml is not None
    assert (found.missing_ml or 0.0) > 4 * found.gas_in_chamber_ml.value


@pytest.mark.parametrize("level", [{"level_mm": 40.0}, {"air_space_mm": 60.0, "reserve_length_mm": 100.0}])
def test_to_the_makers_level_comes_the_ring_of_the_reserve(level: dict[str, float]) -> None:
    found, _ = state(**GEOMETRY, **level, reserve_bore_mm=46.0, tube_outer_mm=36.0)
    bare, _ = state(**GEOMETRY)
    ring = 0.25 * math.pi * (46.0**2 - 36.0**2)
    assert found.missing_is == "to the level"
    assert found.missing_ml == pytest.approx((bare.missing_ml or 0.0) + 1e-3 * 40.0 * ring)


@pytest.mark.parametrize("fill", [{"fill_ml": 300.0}, {"fill_g": 258.0}])
def test_what_was_drained_settles_it(fill: dict[str, float]) -> None:
    """258 g at the usual 860 kg/m3 are 300 ml."""
    found, _ = state(drained_ml=268.0, **GEOMETRY, **fill)
    assert found.missing_is == "measured"
    assert found.missing_ml == pytest.approx(32.0)


def test_a_sound_unit_has_no_oil_missing() -> None:
    test = test_of(Made())
    assert oil_state(test, diagnose(test).findings, None) is None


@pytest.mark.parametrize(
    "oil",
    [
        {"reserve_bore_mm": 30.0, "tube_outer_mm": 36.0},
        {"full_extension_mm": 90.0, "mid_position_mm": 100.0},
        {"fill_ml": 300.0, "fill_g": 258.0},
    ],
)
def test_sizes_that_cannot_be_are_refused(oil: dict[str, float]) -> None:
    with pytest.raises(ValueError, match="expected"):
        DamperSpec.model_validate({"oil": oil})
