"""Gas drawn in, place where the foot valve uncovers, and oil missing, against volumes worked out by hand. All made up."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

import pytest

from dampkit.damper.declared import DamperSpec
from dampkit.faults.diagnose import diagnose
from dampkit.outcome.decision_record import OilRecord
from dampkit.outcome.inspection import Inspection, InspectionSpec, read_sheet
from dampkit.outcome.oil_state import fill_state, oil_state
from tests.faults.made_unit import Made, test_of

ROD_MM2 = 0.25 * math.pi * 12.0**2
GEOMETRY = {"full_extension_mm": 200.0, "mid_position_mm": 100.0}


def state(drained_ml: float | None = None, **oil: Any) -> tuple[OilRecord, float]:
    """The record, and the idle travel that the finding rests on, mm."""
    test = test_of(Made(void_mm={"compression": 14.0}))
    findings = diagnose(test).findings
    assert test.spec is not None
    declared = DamperSpec.model_validate({**test.spec.model_dump(exclude_none=True), "oil": oil})
    found = oil_state(replace(test, spec=declared), findings, Inspection(oil_found_ml=drained_ml))
    assert found is not None
    return found, next(m.value for f in findings for m in f.evidence if m.key == "late")


def test_gas_is_idle_travel_times_rod_and_the_place_is_the_end_of_the_stroke_less_that_travel() -> None:
    found, late = state()
    """14 mm of void, of which the bubbles of good oil are 1.4 mm: a thousandth of 0.22 m of bore, on the rod's area."""
    bubbles = 0.22 * 30.0**2 / 12.0**2
    assert found.gas_in_chamber_ml is not None
    assert found.gas_in_chamber_ml.value == pytest.approx(1e-3 * (late - bubbles) * ROD_MM2)
    assert found.uncovers_at_mm == pytest.approx(25.0 - (late - bubbles))  # stroke of 50 mm
    assert (found.missing_ml, found.missing_is, found.to_add_ml) == (None, None, None)


def test_with_the_rods_travel_declared_at_least_so_much_is_missing() -> None:
    """From the place where the valve uncovers to full extension: (200 - 100 - place) of rod. Far more than the gas."""
    found, _ = state(**GEOMETRY)
    assert found.missing_is == "at least"
    assert found.uncovers_at_mm is not None
    assert found.missing_ml == pytest.approx(1e-3 * (100.0 - found.uncovers_at_mm) * ROD_MM2)
    assert found.gas_in_chamber_ml is not None
    assert (found.missing_ml or 0.0) > 4 * found.gas_in_chamber_ml.value


@pytest.mark.parametrize("level", [{"level_mm": 40.0}, {"air_space_mm": 60.0, "reserve_length_mm": 100.0}])
def test_to_the_makers_level_comes_the_ring_of_the_reserve(level: dict[str, float]) -> None:
    found, _ = state(**GEOMETRY, **level, reserve_bore_mm=46.0, tube_outer_mm=36.0)
    bare, _ = state(**GEOMETRY)
    ring = 0.25 * math.pi * (46.0**2 - 36.0**2)
    assert found.missing_is == "to the level"
    assert found.missing_ml == pytest.approx((bare.missing_ml or 0.0) + 1e-3 * 40.0 * ring)


def test_the_interval_holds_what_each_length_leaves_open() -> None:
    """1 mm on each of two lengths, over 644 mm2 of reserve and 113 mm2 of rod: 0.91 and 0.16 ml, and the rest. By hand."""
    sizes = {"level_mm": 40.0, "reserve_bore_mm": 46.0, "tube_outer_mm": 36.0, "length_tolerance_mm": 1.0}
    found, _ = state(**GEOMETRY, **sizes)
    finer, _ = state(**GEOMETRY, **sizes | {"length_tolerance_mm": 0.1})
    assert found.to_add_ml is not None
    assert finer.to_add_ml is not None
    half, less = (0.5 * (e.high - e.low) for e in (found.to_add_ml, finer.to_add_ml))
    assert 0.91 < half < 1.3
    assert half**2 - less**2 == pytest.approx(0.99 * (0.911**2 + 0.160**2), rel=0.01)


@pytest.mark.parametrize("fill", [{"fill_ml": 300.0}, {"fill_g": 258.0}])
def test_what_was_drained_settles_it(fill: dict[str, float]) -> None:
    """258 g at the usual 860 kg/m3 are 300 ml."""
    found, _ = state(drained_ml=268.0, **GEOMETRY, **fill)
    assert found.missing_is == "measured"
    assert found.missing_ml == pytest.approx(32.0)


def test_the_level_found_settles_it_where_nothing_was_drained() -> None:
    """18 mm of air more than the maker's, in a ring of 46 over 36 mm: 11.6 ml."""
    sizes = {"air_space_mm": 60.0, "reserve_length_mm": 100.0, "reserve_bore_mm": 46.0, "tube_outer_mm": 36.0}
    test = test_of(Made(void_mm={"compression": 14.0}))
    assert test.spec is not None
    declared = DamperSpec.model_validate({**test.spec.model_dump(exclude_none=True), "oil": sizes})
    sheet = Inspection(air_space_mm=78.0)
    found = oil_state(replace(test, spec=declared), diagnose(test).findings, sheet)
    assert found is not None
    assert found.missing_is == "by the level found"
    assert found.missing_ml == pytest.approx(11.592, abs=0.001)


def test_a_lever_arm_is_filled_to_its_air_space_and_has_to_have_room() -> None:
    """30 mm found, 19 wanted, over 18 cm2: 19.8 ml; 34.2 ml of room; 200 ml swell by 9.0 ml over 60 K."""
    spec = DamperSpec.model_validate(
        {"damper": {"kind": "lever-arm"}, "oil": {"air_space_mm": 19.0, "reservoir_mm2": 1800.0, "fill_ml": 200.0}}
    )
    found = fill_state(spec, Inspection(air_space_mm=30.0))
    assert found is not None
    assert found.to_level_ml is not None
    assert found.to_level_ml.value == pytest.approx(19.8)
    assert found.room_ml == pytest.approx(34.2)
    assert found.swells_ml == pytest.approx(9.0)
    assert found.has_room is True


def test_weights_and_a_soak_are_told_in_millilitres() -> None:
    """27.52 g at 860 kg/m3 are 32 ml; 4.3 g in 12 hours are 10 ml a day."""
    sheet = Inspection(weight_in_g=1800.0, weight_out_g=1827.52, soak_hours=12.0, soak_lost_g=4.3)
    found = fill_state(None, sheet)
    assert found is not None
    assert found.gained_ml == pytest.approx(32.0)
    assert found.lost_ml_per_day == pytest.approx(10.0)
    assert "soak_lost_g" in read_sheet(InspectionSpec(inspection=sheet)).work
    assert fill_state(None, Inspection()) is None


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
