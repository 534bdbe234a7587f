"""Flaws that only the fit or a reference shows: zero, moving mass, scale. Each put into a made-up bench, and its size."""

from __future__ import annotations

from dataclasses import replace
from functools import lru_cache
from pathlib import Path

import numpy as np
import pytest
from scipy import constants

from dampkit.bench.run import Run
from dampkit.curves.trace import trace
from dampkit.damper.declared import Damper, DamperSpec, Reference
from dampkit.damper.identify import identify
from dampkit.damper.unit import Unit
from dampkit.quantities import read_only
from dampkit.studies.made import as_run
from dampkit.virtual.plant import Kind, Plant
from dampkit.virtual.programme import standard_programme
from dampkit.virtual.rig import Rig, run_bench
from dampkit.virtual.truth import bench_reading
from dampkit.virtual.units import STEERING_DAMPER
from tests.bench.flawed import SPEEDS, UNITS, codes, figure, read, recorded, said

pytestmark = pytest.mark.slow  # each makes a whole ladder on a bench of its own

GOOD = Rig(sample_rate_hz=500.0)
GASLESS: tuple[Kind, ...] = ("lever-arm", "friction-disc")


@lru_cache
def spec_of(plant: Plant) -> DamperSpec:
    """The unit as on its drawing, with the forces of a sound one as reference."""
    speeds = SPEEDS[plant.kind][1:]
    forces = [bench_reading(plant, way, np.array(speeds), plant.start_c) for way in ("rebound", "compression")]
    rod = None if plant.kind in GASLESS else 1e3 * plant.rod_diameter_m
    return DamperSpec(
        damper=Damper(kind=plant.kind, rod_diameter_mm=rod),
        reference=Reference(
            velocity_m_s=speeds,
            rebound_force_n=tuple(forces[0].tolist()),
            compression_force_n=tuple(forces[1].tolist()),
        ),
    )


def fitted(run: Run, plant: Plant) -> Unit:
    return identify(trace(run), spec_of(plant))


@pytest.mark.parametrize("kind", GASLESS)
def test_zero_of_a_unit_without_gas_is_said_with_its_size(tmp_path: Path, kind: Kind) -> None:
    fit = fitted(read(tmp_path, recorded(UNITS[kind], replace(GOOD, cell_zero_n=60.0))), UNITS[kind])
    assert figure(said(fit.quality, "zero_offset"), "reading is") == pytest.approx(60.0, abs=3.0)


def test_zero_against_gas_is_said_as_what_is_left(tmp_path: Path) -> None:
    plant, zero_n = UNITS["monotube"], 400.0
    message = said(
        fitted(read(tmp_path, recorded(plant, replace(GOOD, cell_zero_n=zero_n))), plant).quality, "zero_offset"
    )
    assert figure(message, "reading is") == pytest.approx(zero_n + plant.gas_force_n, abs=5.0)  # gas force is negative
    assert "at least" in message


def test_a_zero_that_no_gas_could_hold_is_said(tmp_path: Path) -> None:
    plant, zero_n = UNITS["twin-tube"], -400.0
    message = said(
        fitted(read(tmp_path, recorded(plant, replace(GOOD, cell_zero_n=zero_n))), plant).quality, "zero_offset"
    )
    assert figure(message, "reading is") == pytest.approx(-zero_n - plant.gas_force_n, abs=5.0)


@pytest.mark.parametrize("kind", ["twin-tube", "monotube"])
def test_moving_mass_is_taken_out_said_and_left_in_by_an_option(tmp_path: Path, kind: Kind) -> None:
    mass_kg = 4.0
    plant = UNITS[kind]
    log = recorded(plant, replace(GOOD, moving_mass_kg=mass_kg))
    fit = fitted(read(tmp_path, log), plant)
    message = said(fit.quality, "moving_mass")
    assert figure(message, "About") == pytest.approx(mass_kg, rel=0.3)
    highest = 1.0 * 2 * np.pi * 1.0 / (np.pi * 0.05)  # peak speed times angular speed of the fastest stage
    assert figure(message, "up to") == pytest.approx(mass_kg * highest, rel=0.3)
    plain = fitted(read(tmp_path, log, corrections={"as_logged": True}), plant)
    assert plain.moving_mass_kg is None
    assert "moving_mass" not in codes(plain.quality)


def test_a_declared_mass_is_not_said_again(tmp_path: Path) -> None:
    plant = UNITS["monotube"]
    run = read(tmp_path, recorded(plant, replace(GOOD, moving_mass_kg=4.0)), fixture={"moving_mass_kg": 4.0})
    assert "moving_mass" not in codes(fitted(run, plant).quality)


FORCES = {
    "kilogram-force": constants.kilogram_force,
    "newton read as kilogram-force": 1 / constants.kilogram_force,
    "pound-force": constants.pound_force,
    "newton read as pound-force": 1 / constants.pound_force,
    "kilonewton": constants.kilo,
    "newton read as kilonewton": 1 / constants.kilo,
    "decimal place": 10.0,
    "decimal place the other way": 0.1,
}


@pytest.mark.parametrize("slip", FORCES)
@pytest.mark.parametrize("kind", ["monotube", "friction-disc"])
def test_a_wrong_unit_of_force_is_said_with_its_factor(tmp_path: Path, kind: Kind, slip: str) -> None:
    log, factor = recorded(UNITS[kind], GOOD), FORCES[slip]
    fit = fitted(read(tmp_path, replace(log, force_n=factor * log.force_n)), UNITS[kind])
    message = said(fit.quality, "force_scale")
    assert figure(message, "read") == pytest.approx(factor, rel=0.05 if factor > 0.01 else 0.1)  # written to 0.1 N
    named = next(word for word in ("pound-force", "kilonewton", "decimal place", "kilogram-force") if word in slip)
    assert named in message
    assert [(q.severity, q.clears) for q in fit.quality if q.code == "force_scale"] == [("bad", "declare")]
    assert "zero_offset" not in codes(fit.quality)


@pytest.mark.parametrize(("factor", "word"), [(2.0, "twice"), (0.5, "half")])
@pytest.mark.parametrize("kind", ["twin-tube", "monotube", "lever-arm"])
def test_half_stroke_for_stroke_is_said(tmp_path: Path, kind: Kind, factor: float, word: str) -> None:
    log = recorded(UNITS[kind], GOOD)
    fit = fitted(read(tmp_path, replace(log, displacement_m=factor * log.displacement_m)), UNITS[kind])
    message = said(fit.quality, "stroke_scale")
    assert f"at {word} the speed" in message
    assert figure(message, "reference") < 5.0


@pytest.mark.parametrize("offset_n", [-40.0, 60.0])
def test_an_offset_of_the_cell_moves_the_static_force_alone(offset_n: float) -> None:
    """Newton's third law knows no zero: friction, forces and lost motion are differences, and stay what they were.

    A steering damper, whose gas is next to none: there an offset is larger than what it is mistaken for.
    """
    rig = Rig(sample_rate_hz=500.0, force_noise_n=2.0)
    run = as_run(
        run_bench([STEERING_DAMPER], standard_programme((0.005, 0.05, 0.1, 0.3)), rig, np.random.default_rng(9))[0], rig
    )
    plain, moved = (
        identify(trace(replace(run, force_n=read_only(run.force_n + off), zero_known=False))) for off in (0.0, offset_n)
    )
    assert plain.gas_force_n is not None
    assert moved.gas_force_n is not None
    assert moved.gas_force_n.value == pytest.approx(plain.gas_force_n.value - offset_n, abs=1e-3)
    assert moved.friction_used_n == pytest.approx(plain.friction_used_n, abs=1e-3)
    for a, b in zip(moved.sides, plain.sides, strict=True):
        assert a.lost_motion_mm is not None
        assert b.lost_motion_mm is not None
        assert a.lost_motion_mm.value == pytest.approx(b.lost_motion_mm.value, abs=1e-3)
        assert a.law is not None
        assert b.law is not None
        assert a.law.force_n == pytest.approx(b.law.force_n, rel=1e-5, abs=1e-3)
