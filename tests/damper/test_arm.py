"""The arm's geometry against its definition, energy and the slider-crank; torque against the definition of the pound-foot."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from pydantic import ValidationError
from scipy.optimize import brentq

from dampkit.bench.toml_file import declared
from dampkit.damper.arm import Arm, TorqueReference, arm_at_middle_m, swing
from dampkit.damper.declared import DamperSpec
from dampkit.errors import BadSettings

LENGTH_M = 0.16
TRAVEL_M = np.linspace(-0.05, 0.05, 41)
STANDS = (
    Arm(angle_deg=0.0),
    Arm(angle_deg=25.0),
    Arm(angle_deg=-10.0, link_mm=120.0),
    Arm(angle_deg=15.0, link_mm=90.0),
)


def test_an_arm_without_a_declared_stand_is_square_all_along() -> None:
    found = swing(LENGTH_M, None, TRAVEL_M)
    assert np.all(found.arm_m == LENGTH_M)


@pytest.mark.parametrize("stand", STANDS)
def test_a_turn_times_the_arm_is_the_travel(stand: Arm) -> None:
    """Virtual work: the integral of the arm over the angle is the travel, whatever the geometry."""
    found = swing(LENGTH_M, stand, np.linspace(-0.05, 0.05, 4001))
    work = np.concatenate([[0.0], np.cumsum(0.5 * (found.arm_m[1:] + found.arm_m[:-1]) * np.diff(found.angle_rad))])
    assert work == pytest.approx(found.travel_m - found.travel_m[0], abs=2e-7)


def test_led_along_the_line_the_end_goes_with_the_sine() -> None:
    found = swing(LENGTH_M, Arm(angle_deg=25.0), TRAVEL_M)
    assert LENGTH_M * (np.sin(found.angle_rad) - np.sin(np.radians(25.0))) == pytest.approx(TRAVEL_M, abs=1e-9)
    assert found.arm_m == pytest.approx(LENGTH_M * np.cos(found.angle_rad), abs=1e-7)


@pytest.mark.parametrize("travel_m", [-0.04, 0.01, 0.05])
def test_a_link_is_as_long_all_along(travel_m: float) -> None:
    """Independent route: the angle at which the distance between arm's end and bench is the link's length, by bisection."""
    start, link = np.radians(-10.0), 0.12
    aside, middle = LENGTH_M * np.cos(start), LENGTH_M * np.sin(start) + link

    def too_long(phi: float) -> float:
        dx, dy = aside - LENGTH_M * np.cos(phi), middle + travel_m - LENGTH_M * np.sin(phi)
        return float(np.hypot(dx, dy) - link)

    angle = brentq(too_long, start - 0.6, start + 0.6)
    assert swing(LENGTH_M, STANDS[2], np.array([travel_m])).angle_rad[0] == pytest.approx(angle, abs=1e-6)


def test_a_very_long_link_is_as_the_end_led_along_the_line() -> None:
    led, linked = (swing(LENGTH_M, Arm(angle_deg=10.0, link_mm=link), TRAVEL_M).arm_m for link in (None, 1e7))
    assert linked == pytest.approx(led, rel=1e-4)


def test_beyond_its_reach_there_is_no_arm() -> None:
    found = swing(LENGTH_M, Arm(angle_deg=60.0), np.array([0.0, 0.05]))
    assert found.arm_m[0] == pytest.approx(0.08, rel=1e-6)  # L cos 60
    assert np.isnan(found.arm_m[1])


def test_a_torque_reference_is_force_at_the_arms_end_that_does_the_same_work() -> None:
    torque: dict[str, Any] = {
        "angular_velocity_deg_s": [30.0, 90.0], "rebound_torque_nm": [16.0, 48.0], "compression_torque_nm": [8.0, 24.0],
    }  # fmt: skip
    spec = DamperSpec.model_validate(
        {
            "damper": {"kind": "lever-arm", "arm_length_mm": 160.0},
            "reference_torque": torque,
            "arm": {"angle_deg": 60.0},
        }
    )
    assert spec.reference is not None
    assert spec.reference.rebound_force_n == pytest.approx((200.0, 600.0))  # 16 N m at 80 mm square to the pull
    power = np.array(spec.reference.rebound_force_n) * np.array(spec.reference.velocity_m_s)
    assert power == pytest.approx(np.radians([30.0, 90.0]) * [16.0, 48.0])
    assert DamperSpec.model_validate(spec.model_dump()) == spec


@pytest.mark.parametrize(
    ("given", "said"),
    [
        ({"damper": {"kind": "lever-arm"}, "reference_torque": TorqueReference(angular_velocity_deg_s=(30.0,), rebound_torque_nm=(1.0,), compression_torque_nm=(1.0,)).model_dump()}, "arm_length_mm"),
        ({"damper": {"kind": "lever-arm"}, "arm": {"angle_deg": 5.0}}, "arm_length_mm"),
        ({"damper": {"arm_length_mm": 160.0}, "reference_torque": {"angular_velocity_deg_s": [30.0]}}, "rebound_torque_nm"),
        ({"damper": {"kind": "twin-tube"}, "strut": {"side_load_n": 500.0}}, "duty"),
    ],
)  # fmt: skip
def test_what_is_lacking_is_said(given: dict[str, Any], said: str) -> None:
    with pytest.raises(BadSettings, match=said):
        declared(given, DamperSpec)


def test_two_references_are_refused_unless_they_are_one() -> None:
    torque = {"angular_velocity_deg_s": [30.0], "rebound_torque_nm": [16.0], "compression_torque_nm": [8.0]}
    force = {"velocity_m_s": [0.1], "rebound_force_n": [100.0], "compression_force_n": [50.0]}
    with pytest.raises(ValidationError, match="both given"):
        DamperSpec.model_validate({"damper": {"arm_length_mm": 160.0}, "reference": force, "reference_torque": torque})


def test_the_arm_in_the_middle_is_that_of_the_swing() -> None:
    for stand in STANDS:
        assert swing(LENGTH_M, stand, np.zeros(1)).arm_m[0] == pytest.approx(arm_at_middle_m(LENGTH_M, stand), rel=1e-6)
