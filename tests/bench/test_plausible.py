"""Doubtful sizes and cut-off peaks are said."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from dampkit.bench.test import read_run
from tests.bench.writer import Habit, made_run, spec_for, write_log

TRUTH = made_run(((1.0, 3), (3.0, 4)))


def codes(tmp_path: Path, **changes: object) -> list[str]:
    path = write_log(tmp_path / "run.csv", Habit(), replace(TRUTH, **changes))  # type: ignore[arg-type]
    return [q.code for q in read_run(path, spec_for(Habit())).quality]


def test_a_usual_log_raises_no_doubt(tmp_path: Path) -> None:
    assert codes(tmp_path) == []


@pytest.mark.parametrize("factor", [1e-3, 1e3])
def test_a_wrong_unit_is_doubted(factor: float, tmp_path: Path) -> None:
    assert "size_doubtful" in codes(tmp_path, force_n=factor * TRUTH.force_n)
    assert "size_doubtful" in codes(tmp_path, displacement_m=factor * TRUTH.displacement_m)


def test_a_slow_log_is_doubted(tmp_path: Path) -> None:
    path = write_log(tmp_path / "run.csv", Habit(), TRUTH)
    head, *rows = path.read_text().split("\n")
    path.write_text("\n".join([head, *rows[::10]]))
    assert "size_doubtful" in [q.code for q in read_run(path, spec_for(Habit())).quality]


def test_cut_off_peaks_are_said(tmp_path: Path) -> None:
    assert "force_clipped" in codes(tmp_path, force_n=np.minimum(TRUTH.force_n, 500.0))
