"""Declared zero, delay, flex and mass: each applied on made-up data with a known answer, each in the history."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from dampkit.bench.declared import BenchSpec
from dampkit.bench.run import Run
from dampkit.bench.test import read_run
from tests.bench.writer import Habit, Truth, made_run, write_log

TRUTH = made_run(((1.0, 3), (2.0, 4)))
SIGNS = {"force_positive": "tension", "displacement_positive": "extension"}


def read(tmp_path: Path, truth: Truth, habit: Habit | None = None, **sections: Mapping[str, object]) -> Run:
    path = write_log(tmp_path / "run.csv", habit or Habit(), truth)
    return read_run(path, BenchSpec.model_validate({"signs": SIGNS, **sections}))


def done(run: Run) -> set[str]:
    return {step.what for step in run.history}


def test_zero_is_taken_off_in_the_log_s_own_sign(tmp_path: Path) -> None:
    truth = replace(TRUTH, force_n=TRUTH.force_n - 40.0)  # the cell reads 40 N, counted in compression
    signs = {"force_positive": "compression", "displacement_positive": "extension"}
    run = read(tmp_path, truth, Habit(force_positive="compression"), zero={"force_n": 40.0}, signs=signs)
    np.testing.assert_allclose(run.force_n, TRUTH.force_n, atol=2e-3)
    assert run.zero_known
    assert "cell zero taken off" in done(run)


def test_no_zero_is_said(tmp_path: Path) -> None:
    run = read(tmp_path, TRUTH)
    assert not run.zero_known
    assert "zero_unknown" in {q.code for q in run.quality}


def test_delay_is_taken_back(tmp_path: Path) -> None:
    rows = 5
    late = replace(TRUTH, force_n=np.concatenate([np.full(rows, TRUTH.force_n[0]), TRUTH.force_n[:-rows]]))
    run = read(tmp_path, late, timing={"force_delay_s": rows / 500})
    assert run.rows_used == TRUTH.time_s.size - rows
    np.testing.assert_allclose(run.force_n, TRUTH.force_n[:-rows], atol=2e-3)
    assert "force moved back by its delay" in done(run)


def test_flex_under_tension_is_taken_off_the_extension(tmp_path: Path) -> None:
    stretched = replace(TRUTH, displacement_m=TRUTH.displacement_m + TRUTH.force_n / 6e6)
    run = read(tmp_path, stretched, fixture={"stiffness_n_mm": 6000.0})
    np.testing.assert_allclose(run.displacement_m, TRUTH.displacement_m, atol=2e-6)
    assert "bench flex taken out of the displacement" in done(run)


def test_mass_and_uncertainty_travel_with_the_run(tmp_path: Path) -> None:
    uncertain = {"force_percent": 0.5, "force_n": 2.0, "displacement_mm": 0.02}
    run = read(tmp_path, TRUTH, fixture={"moving_mass_kg": 0.6}, uncertainty=uncertain)
    assert run.moving_mass_kg == 0.6
    assert (run.force_percent, run.force_uncertainty_n) == (0.5, 2.0)
    assert run.displacement_uncertainty_m == pytest.approx(2e-5)
