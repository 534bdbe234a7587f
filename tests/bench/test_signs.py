"""Direction: declared, shown by work and gas, or asked for; never swapped silently."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from dampkit.bench.declared import BenchSpec
from tests.bench.reading import read_log
from tests.bench.writer import Habit, made_run, write_log

# a slow stage first: gas force (110 N, out) is larger than friction (25 N) and the valve's force there
TRUTH = made_run(((0.05, 1), (2.0, 4)))
FOUR = [(f, d) for f in ("tension", "compression") for d in ("extension", "compression")]


def spec(**signs: str) -> BenchSpec:
    return BenchSpec.model_validate({"signs": signs, "zero": {"force_n": 0.0}})


@pytest.mark.parametrize(("force", "displacement"), FOUR)
def test_gas_force_and_work_show_both_directions(force: str, displacement: str, tmp_path: Path) -> None:
    habit = Habit(force_positive=force, displacement_positive=displacement)
    reading = read_log(write_log(tmp_path / "run.csv", habit, TRUTH), spec())
    np.testing.assert_allclose(reading.run.force_n, TRUTH.force_n, atol=2e-3)
    np.testing.assert_allclose(reading.run.displacement_m, TRUTH.displacement_m, atol=2e-6)
    assert reading.run.direction_known
    assert "gas force" in reading.orientation.how


@pytest.mark.parametrize(("force", "displacement"), FOUR)
@pytest.mark.parametrize("declared", ["force", "displacement"])
def test_one_declared_sign_and_the_work_give_the_other(
    force: str, displacement: str, declared: str, tmp_path: Path
) -> None:
    habit = Habit(force_positive=force, displacement_positive=displacement)
    signs = {"force_positive": force} if declared == "force" else {"displacement_positive": displacement}
    run = read_log(write_log(tmp_path / "run.csv", habit, TRUTH), spec(**signs)).run
    np.testing.assert_allclose(run.force_n, TRUTH.force_n, atol=2e-3)
    np.testing.assert_allclose(run.displacement_m, TRUTH.displacement_m, atol=2e-6)


def test_without_a_known_zero_the_direction_is_asked_for(tmp_path: Path) -> None:
    run = read_log(write_log(tmp_path / "run.csv", Habit(), TRUTH)).run
    assert not run.direction_known
    question = next(q for q in run.quality if q.code == "direction_unknown")
    assert question.severity == "warning"
    assert "[signs]" in question.message


def test_without_gas_force_the_direction_is_asked_for(tmp_path: Path) -> None:
    truth = replace(TRUTH, force_n=TRUTH.force_n + 110.0 - 800.0 * TRUTH.displacement_m)
    run = read_log(write_log(tmp_path / "run.csv", Habit(), truth), spec()).run
    assert not run.direction_known


@pytest.mark.parametrize("offset_n", [0.0, 300.0, -300.0])
def test_declared_signs_that_give_work_are_called_bad_and_the_force_is_turned(offset_n: float, tmp_path: Path) -> None:
    truth = replace(TRUTH, force_n=TRUTH.force_n + offset_n)
    path = write_log(tmp_path / "run.csv", Habit(), truth)
    run = read_log(path, spec(force_positive="compression", displacement_positive="extension")).run
    np.testing.assert_allclose(run.force_n, truth.force_n, atol=2e-3)  # as declared it would be the opposite
    assert [(q.severity, q.clears) for q in run.quality if q.code == "gives_work"] == [("bad", "declare")]
    assert not run.direction_known  # either of the two signs may be the wrong one


def test_velocity_of_the_other_sign_is_told(tmp_path: Path) -> None:
    truth = replace(TRUTH, velocity_m_s=-TRUTH.velocity_m_s)
    run = read_log(
        write_log(tmp_path / "run.csv", Habit(moved="both"), truth),
        spec(force_positive="tension", displacement_positive="extension"),
    ).run
    assert "velocity_disagrees" in {q.code for q in run.quality}


def test_declared_velocity_shows_the_displacement(tmp_path: Path) -> None:
    habit = Habit(moved="both", displacement_positive="compression")
    run = read_log(write_log(tmp_path / "run.csv", habit, TRUTH), spec(velocity_positive="compression")).run
    assert run.direction_known
    np.testing.assert_allclose(run.displacement_m, TRUTH.displacement_m, atol=2e-6)


def test_unit_of_displacement_from_velocity(tmp_path: Path) -> None:
    path = write_log(tmp_path / "run.csv", Habit(moved="both"), TRUTH)
    path.write_text(path.read_text().replace("Displacement (mm)", "Displacement"))
    run = read_log(path, spec(force_positive="tension")).run
    np.testing.assert_allclose(run.displacement_m, TRUTH.displacement_m, atol=2e-6)
    assert "unit_by_behaviour" in {q.code for q in run.quality}
