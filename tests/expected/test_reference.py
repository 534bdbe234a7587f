"""Measured against a known-good unit. The straight force curve makes every expected reading a hand sum."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from dampkit.bench.run import Run
from dampkit.damper.declared import DamperSpec
from dampkit.expected.reference import compare_with_reference, reading_at
from dampkit.quantities import Estimate
from tests.outcome.made import damper_fit, shifted, valve_fit

REFERENCE = {
    "velocity_m_s": [0.05, 0.3],
    "rebound_force_n": [120.0, 620.0],  # 2000 v + 20
    "compression_force_n": [70.0, 320.0],  # 1000 v + 20
    "tolerance_percent": 10.0,
    "tolerance_floor_n": 25.0,
}
SPEC = DamperSpec.model_validate({"reference": REFERENCE})


def answers(friction: Estimate | None = Estimate(20.0, 18.0, 22.0), factor: float = 1.0) -> list[str]:  # noqa: B008
    points = compare_with_reference(shifted(damper_fit(friction), factor), SPEC)
    assert points is not None
    return [p.answer for p in points]


def test_friction_is_in_and_gas_is_out() -> None:
    points = compare_with_reference(damper_fit(), SPEC)
    assert points is not None
    assert [p.measured_n for p in points] == pytest.approx([120, 620, 70, 320])
    assert [p.direction for p in points] == ["rebound", "rebound", "compression", "compression"]


def test_window_is_the_larger_of_percentage_and_floor() -> None:
    points = compare_with_reference(damper_fit(), SPEC)
    assert points is not None
    assert [p.high_n - p.reference_n for p in points] == pytest.approx([25, 62, 25, 32])


def test_a_sound_unit_is_in_everywhere() -> None:
    assert answers() == ["in"] * 4


def test_a_weak_rebound_is_out_in_rebound_alone() -> None:
    assert answers(factor=0.5) == ["out", "out", "in", "in"]


def test_close_to_the_limit_is_not_established() -> None:
    assert answers(factor=0.9)[1] == "not established"  # 560 N against a limit of 558 N


def test_unknown_friction_establishes_nothing() -> None:
    assert answers(friction=None) == ["not established"] * 4


def test_beyond_the_tested_speed_nothing_is_said() -> None:
    slow = valve_fit(2000.0, top_m_s=0.1)
    friction = Estimate(20, 20, 20)
    assert reading_at(0.3, slow, friction) is None
    assert reading_at(0.05, slow, friction) is not None


def test_a_missing_direction_is_not_established() -> None:
    points = compare_with_reference(replace(damper_fit(), compression=None), SPEC)
    assert points is not None
    assert [p.answer for p in points[2:]] == ["not established"] * 2


def test_declared_bench_uncertainty_counts() -> None:
    """Independent parts add as squares [jcgm100] 5.1.2: curve 1 % of 600, friction 2, bench 1 % of 620 and 5 N."""
    zero = np.zeros(2)
    run = Run("made.csv", "", 2, np.array([0.0, 1.0]), zero, zero, force_percent=1.0, force_uncertainty_n=5.0)
    reading = reading_at(0.3, valve_fit(2000.0), Estimate(20.0, 18.0, 22.0), run)
    assert reading is not None
    assert reading.half_width == pytest.approx((6**2 + 2**2 + 6.2**2 + 5**2) ** 0.5)


def test_no_reference_no_comparison() -> None:
    assert compare_with_reference(damper_fit(), DamperSpec()) is None
