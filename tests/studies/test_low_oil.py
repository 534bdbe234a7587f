"""The low-oil study's truth, by volumes worked out apart from it, and its page."""

from __future__ import annotations

import math

import numpy as np
import pytest

from dampkit.outcome.record import EstimateRecord
from dampkit.studies.low_oil import BENCH_MIDDLE_MM, Said, Unit, _unit, page

UNITS = [_unit(np.random.default_rng([9, i]), "low_oil", 3.0) for i in range(40)]


def _by_sheet_ml(unit: Unit) -> float:
    """Rod from the place where the valve uncovers, 6 mm short of 25, to full extension, and the ring up to the level;
    less what the oil swells at the workshop's temperature, 0.075 %/K of all of it.
    """
    sheet = unit.sheet
    assert sheet.full_extension_mm is not None
    assert sheet.level_mm is not None
    assert sheet.reserve_bore_mm is not None
    assert sheet.tube_outer_mm is not None
    assert sheet.mid_position_mm is not None
    rod_mm2 = 0.25 * math.pi * (1e3 * unit.sound.rod_diameter_m) ** 2
    ring_mm2 = 0.25 * math.pi * (sheet.reserve_bore_mm**2 - sheet.tube_outer_mm**2)
    out_mm = sheet.full_extension_mm - sheet.mid_position_mm - 19.0
    oil_ml = 1e6 * (sum(unit.now.chamber_m3) + unit.now.reserve_oil_m3)
    return 1e-3 * (rod_mm2 * out_mm + ring_mm2 * sheet.level_mm) + 7.5e-4 * (unit.sound.start_c - 20.0) * oil_ml


def test_what_is_missing_is_what_the_sheet_says_within_its_tolerances() -> None:
    """Three lengths, each off by half a millimetre: the ring and twice the rod by as much."""
    off = np.array([_by_sheet_ml(u) - u.missing_ml for u in UNITS])
    ring = [
        0.25e-3 * math.pi * ((u.sheet.reserve_bore_mm or 0) ** 2 - (u.sheet.tube_outer_mm or 0) ** 2) for u in UNITS
    ]
    rod = [0.25e3 * math.pi * u.sound.rod_diameter_m**2 for u in UNITS]
    wanted = np.hypot(np.array(ring), math.sqrt(2.0) * np.array(rod)) / 1.96
    assert abs(float(np.mean(off / wanted))) < 0.5
    assert 0.7 < float(np.std(off / wanted)) < 1.3


def test_the_lengths_are_not_all_right() -> None:
    assert all(u.sheet.mid_position_mm != BENCH_MIDDLE_MM for u in UNITS)


def test_the_page_counts_what_was_said() -> None:
    codes, none = frozenset({"low_oil"}), frozenset[str]()
    true = UNITS[0].missing_ml
    said = [
        Said(UNITS[0], codes, codes, EstimateRecord(value=true, low=true - 1, high=true + 1)),
        Said(UNITS[1], none, none),
    ]
    text = page(said, 9)
    assert "| low oil named, alone or beside bubbles | 1 of 2, 50% (" in text
    assert "| ... holds what is missing | 1 of 1, 100% (" in text


@pytest.mark.parametrize("unit", UNITS[:3])
def test_units_are_of_many_sizes_and_carry(unit: Unit) -> None:
    assert 0.05 <= unit.now.pocket_carry <= 5.0
    assert 0.3 < unit.now.rod_diameter_m / unit.now.piston_diameter_m < 0.62
