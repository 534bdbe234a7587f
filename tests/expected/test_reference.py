"""Measured against a known-good unit. The straight force curve makes every expected reading a hand sum."""

from __future__ import annotations

from dataclasses import replace

import pytest

from dampkit.damper.declared import DamperSpec
from dampkit.damper.unit import Side
from dampkit.expected.reference import Compared, against_reference
from dampkit.quantities import Estimate
from tests.outcome.made import damper_fit, shifted, straight_side

REFERENCE = {
    "velocity_m_s": [0.05, 0.3],
    "rebound_force_n": [120.0, 620.0],  # 2000 v + 20
    "compression_force_n": [70.0, 320.0],  # 1000 v + 20
    "tolerance_percent": 10.0,
    "tolerance_floor_n": 25.0,
}
SPEC = DamperSpec.model_validate({"reference": REFERENCE})


def points(factor: float = 1.0, friction: Estimate | None = Estimate(20.0, 18.0, 22.0)) -> tuple[Compared, ...]:  # noqa: B008
    found = against_reference(shifted(damper_fit(friction), factor), SPEC)
    assert found is not None
    return found


def test_friction_is_in_and_gas_is_out() -> None:
    measured = [p.measured_n.value for p in points() if p.measured_n is not None]
    assert measured == pytest.approx([120, 620, 70, 320])
    assert [p.direction for p in points()] == ["rebound", "rebound", "compression", "compression"]


def test_window_is_the_larger_of_percentage_and_floor() -> None:
    assert [p.high_n - p.wanted_n for p in points()] == pytest.approx([25, 62, 25, 32])


def test_a_sound_unit_is_in_everywhere() -> None:
    assert [p.answer for p in points()] == ["in"] * 4


def test_a_weak_rebound_is_out_in_rebound_alone() -> None:
    assert [p.answer for p in points(factor=0.5)] == ["out", "out", "in", "in"]


def test_close_to_the_limit_is_not_established() -> None:
    assert points(factor=0.9)[1].answer == "not established"  # 560 N against a limit of 558 N


def test_friction_that_is_not_established_does_not_matter_to_a_reading() -> None:
    assert [p.answer for p in points(friction=None)] == ["in"] * 4


def test_beyond_the_tested_speed_nothing_is_measured() -> None:
    slow = replace(damper_fit(), rebound=straight_side("rebound", 2000.0, top_m_s=0.1))
    found = against_reference(slow, SPEC)
    assert found is not None
    assert [(p.measured_n is None, p.answer) for p in found[:2]] == [(False, "in"), (True, "not established")]


def test_a_missing_direction_is_not_established() -> None:
    found = against_reference(replace(damper_fit(), compression=Side("compression")), SPEC)
    assert found is not None
    assert [p.answer for p in found[2:]] == ["not established"] * 2


def test_no_reference_no_comparison() -> None:
    assert against_reference(damper_fit(), DamperSpec()) is None
    assert against_reference(damper_fit(), None) is None
