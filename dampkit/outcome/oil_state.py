"""A low oil level in three figures that are not one another: gas drawn in, where the foot valve uncovers, oil missing."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Literal

from dampkit.damper.areas import DENSITY_KG_M3, rod_area_m2
from dampkit.damper.declared import Oil
from dampkit.faults.finding import Finding
from dampkit.faults.under_test import UnderTest
from dampkit.outcome.inspection import Seen
from dampkit.outcome.result import EstimateRecord, OilRecord
from dampkit.quantities import Estimate

ML_PER_M3 = 1e6
MissingIs = Literal["measured", "to the level", "at least"] | None


def oil_state(test: UnderTest, findings: Sequence[Finding], seen: Seen | None) -> OilRecord | None:
    """None unless a low level of a twin tube is found or suspected.

    Rod that comes out is made up for from the reserve; once its foot valve is bare, every further millimetre draws in air
    of the rod's cross-section, and the next stroke in is idle for as long. So the idle travel tells the gas of one
    stroke, and the outer end of the stroke less that travel the place where the valve uncovers. What is missing is more:
    the rod from there to its full extension, and the oil that should stand over the valve then.
    Source: own, from the volumes of a twin tube.
    """
    finding = next((f for f in findings if f.code == "low_oil"), None)
    area_m2 = rod_area_m2(test.spec)
    if finding is None or test.kind != "twin-tube" or test.spec is None:
        return None
    late = next((m for m in finding.evidence if m.key == "late"), None)
    gas = uncovers = None
    if late is not None and late.direction == "compression" and area_m2 is not None:
        volume = Estimate.from_standard_error(late.value, late.uncertainty).scaled(1e-3 * area_m2 * ML_PER_M3)
        gas = EstimateRecord(**volume.to_dict())
        uncovers = _half_stroke_mm(test, finding) - late.value
    oil = test.spec.oil or Oil()
    fill_ml = _fill_ml(oil, test.spec.damper.oil_density_kg_m3 or DENSITY_KG_M3)
    missing, is_ = _by_geometry(oil, uncovers, area_m2)
    drained_ml = None if seen is None else seen.oil_found_ml
    if fill_ml is not None and drained_ml is not None:
        missing, is_ = fill_ml - drained_ml, "measured"
    return OilRecord(gas_in_chamber_ml=gas, uncovers_at_mm=uncovers, missing_ml=missing, missing_is=is_)


def _half_stroke_mm(test: UnderTest, finding: Finding) -> float:
    stroke = next(
        (x.stage.stroke_m for x in test.moving if x.stage.index == finding.stage), test.moving[0].stage.stroke_m
    )
    return 0.5e3 * stroke


def _fill_ml(oil: Oil, density_kg_m3: float) -> float | None:
    if oil.fill_ml is not None:
        return oil.fill_ml
    return None if oil.fill_g is None else 1e3 * oil.fill_g / density_kg_m3


def _by_geometry(oil: Oil, uncovers_mm: float | None, rod_m2: float | None) -> tuple[float | None, MissingIs]:
    """Oil to the maker's level, where that is declared; else at least what keeps the valve covered with the rod full out."""
    if uncovers_mm is None or rod_m2 is None or oil.full_extension_mm is None or oil.mid_position_mm is None:
        return None, None
    rod_ml = 1e-3 * (oil.full_extension_mm - oil.mid_position_mm - uncovers_mm) * rod_m2 * ML_PER_M3
    height, ring = oil.height_mm, oil.ring_m2
    if height is None or ring is None:
        return rod_ml, "at least"
    return rod_ml + 1e-3 * height * ring * ML_PER_M3, "to the level"
