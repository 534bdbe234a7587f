"""What each kind is asked and told: steering dampers without car or reference, discs without rebound and compression."""

from __future__ import annotations

import re
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

import dampkit
from dampkit.bench.points import Points, PointSet
from dampkit.damper.declared import DamperSpec
from dampkit.outcome.inspection import Inspection, InspectionSpec, read_sheet
from dampkit.outcome.result import Result
from dampkit.quantities import DIRECTIONS, Array, Direction, read_only
from dampkit.virtual.papers import vehicle_toml
from dampkit.virtual.samples import SALOON
from dampkit.virtual.truth import bench_reading
from dampkit.virtual.units import FRICTION_DISC, STEERING_DAMPER

SPEEDS = (0.005, 0.05, 0.1, 0.2, 0.3, 0.5, 0.8, 1.0)
SHEET: dict[str, Any] = {"inspection": {"hand_stroke": "no dead travel"}}
DISC: dict[str, Any] = {"kind": "friction-disc", "arm_length_mm": 250.0}


def table(forces: dict[Direction, Array], speeds: tuple[float, ...] = SPEEDS) -> Points:
    v = read_only(np.array(speeds))
    none = read_only(np.zeros(v.size))
    sets = [PointSet(v, read_only(forces[d]), none, none) for d in DIRECTIONS]
    return Points("made up", "0" * 64, "table", v.size, v.size, sets[0], sets[1], zero_known=True)


def steered(rebound: float = 1.0, damper: dict[str, Any] | None = None, **more: Any) -> Result:
    """A made-up steering damper, its rebound times a factor."""
    v = np.array(SPEEDS)
    forces = {d: bench_reading(STEERING_DAMPER, d, v, 20.0) for d in DIRECTIONS}
    forces["rebound"] = rebound * forces["rebound"]
    spec: dict[str, Any] = {"damper": {"kind": "steering-damper", "piston_diameter_mm": 25.0, "rod_diameter_mm": 14.0}}
    return dampkit.analyse(table(forces), {**spec, **(damper or {})}, inspection=SHEET, **more)


def test_a_steering_damper_alike_both_ways_is_fitted_without_car_or_reference_and_says_what_that_rests_on() -> None:
    result = steered()
    assert (result.verdict.action, result.faults) == ("fit", ())
    assert {c.against for c in result.coverage if c.answer == "in"} == {"other direction"}
    assert any("How firm it should be was not compared" in reason for reason in result.verdict.reasons)


def test_one_that_is_weak_one_way_is_not() -> None:
    result = steered(rebound=0.5)
    assert [(f.code, f.level, f.direction) for f in result.faults] == [("uneven_sides", "found", "rebound")]
    assert result.verdict.action == "rebuild"
    assert "50 %" in result.faults[0].sentence


@pytest.mark.parametrize("rebound", [0.9, 1.1])
def test_a_tenth_apart_is_alike(rebound: float) -> None:
    assert steered(rebound=rebound).verdict.action == "fit"


def test_unlike_forces_that_its_maker_wants_are_no_fault() -> None:
    v = np.array(SPEEDS[1:])
    r, c = (bench_reading(STEERING_DAMPER, d, v, 20.0) for d in DIRECTIONS)
    reference = {"velocity_m_s": v.tolist(), "rebound_force_n": (0.5 * r).tolist(), "compression_force_n": c.tolist()}
    result = steered(rebound=0.5, damper={"reference": reference})
    assert (result.verdict.action, result.faults) == ("fit", ())
    assert "uneven_sides" not in {n.code for n in result.not_looked_for}


def test_a_car_is_not_asked_of_it() -> None:
    import tomllib

    result = steered(vehicle=tomllib.loads(vehicle_toml(SALOON)))
    assert result.vehicle is None
    assert any("damps no wheel" in line for line in result.left_out)


def discs(share: float, vehicle: bool = False) -> Result:
    """A made-up friction-disc damper at a share of its reference of 210 N, as a table."""
    speeds = (0.005, 0.05, 0.1, 0.2, 0.3)
    unit = replace(FRICTION_DISC, friction=replace(FRICTION_DISC.friction, sliding_n=share * 210.0, viscous_n_s_m=0.0))
    forces = {d: bench_reading(unit, d, np.array(speeds), 20.0) for d in DIRECTIONS}
    wanted = [210.0] * 3
    reference = {"velocity_m_s": [0.05, 0.1, 0.3], "rebound_force_n": wanted, "compression_force_n": wanted}
    return dampkit.analyse(table(forces, speeds), {"damper": DISC, "reference": reference}, inspection=SHEET)


def test_discs_set_too_tight_are_slackened_by_spring_balance_with_no_word_of_directions() -> None:
    result = discs(1.3)
    assert (result.verdict.action, result.verdict.step) == ("adjust", "set_clamp")
    said = " ".join((*result.verdict.reasons, result.verdict.next_step, *(p.do for p in result.advice.parts)))  # type: ignore[union-attr]
    assert not re.search(r"rebound|compression|valve", said, re.IGNORECASE)
    assert "spring balance" in said
    assert "210\N{NO-BREAK SPACE}N" in said
    assert "52.5\N{NO-BREAK SPACE}N m" in said  # 210 N at an arm of 250 mm
    assert "21.4\N{NO-BREAK SPACE}kgf" in said  # 210 N by 9.80665


def test_what_reads_alike_both_ways_is_said_once() -> None:
    reasons = [reason for reason in discs(1.3).verdict.reasons if "above its window" in reason]
    assert len(reasons) == 3  # of three speeds, not of six readings
    assert all(reason.startswith("Force at") for reason in reasons)


def test_its_torque_stands_beside_its_force() -> None:
    result = discs(1.0)
    assert result.arm is not None
    assert result.arm.friction_nm is not None
    assert result.arm.friction_nm.value == pytest.approx(0.25 * 210.0, rel=0.02)
    assert result.balance is not None
    assert result.balance.wanted_n == pytest.approx(210.0)


def sheet(damper: dict[str, Any], **answers: Any) -> Any:
    spec = DamperSpec.model_validate({"damper": damper})
    return read_sheet(InspectionSpec(inspection=Inspection(**answers)), spec)


def test_each_kind_is_asked_what_it_has() -> None:
    assert set(sheet(DISC).missing) == {
        "state of the discs", "thickness of the disc pack against the least allowed", "state of the eyes", "parts available"
    }  # fmt: skip
    assert "upper bearing" in sheet({"kind": "twin-tube", "duty": "strut"}).missing
    assert "upper bearing" not in sheet({"kind": "twin-tube"}).missing
    assert "travel left at full lock" in sheet({"kind": "steering-damper"}).missing
    assert "rod straight" not in sheet({"kind": "lever-arm"}).missing


@pytest.mark.parametrize(
    ("damper", "answers", "where"),
    [
        (DISC, {"discs": "oil on dry discs"}, "work"),
        (DISC, {"disc_pack_mm": 17.0, "disc_pack_least_mm": 18.0}, "work"),
        ({"kind": "lever-arm"}, {"shaft": "play"}, "work"),
        ({"kind": "twin-tube", "duty": "strut"}, {"rod_bush": "side play"}, "work"),
        ({"kind": "twin-tube", "duty": "strut"}, {"upper_bearing": "rough"}, "beside"),
        ({"kind": "steering-damper"}, {"at_full_lock": "meets its stop"}, "structure"),
    ],
)
def test_what_is_seen_counts(damper: dict[str, Any], answers: dict[str, Any], where: str) -> None:
    """Common practice, no source."""
    assert len(getattr(sheet(damper, **answers), where)) == 1


def test_a_pack_as_thick_as_the_least_allowed_is_thick_enough() -> None:
    seen = sheet(DISC, disc_pack_mm=18.0, disc_pack_least_mm=18.0)
    assert seen.work == ()
    assert "thickness of the disc pack against the least allowed" not in seen.missing


def test_a_rough_upper_bearing_is_renewed_and_the_strut_fitted() -> None:
    from dampkit.outcome.verdict import Known, decide
    from tests.outcome.made import covered, point

    seen = sheet({"kind": "twin-tube", "duty": "strut"}, upper_bearing="rough")
    verdict = decide(Known(reference=(point("in"),), coverage=covered(), seen=seen))
    assert (verdict.action, verdict.step) == ("fit", "renew_then_fit")
    assert "upper_bearing: rough" in {g.about for g in verdict.grounds}
