"""Time from clocks, counts and rates."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from dampkit.bench.declared import BenchSpec
from dampkit.bench.test import read_run
from dampkit.bench.timing import rate_in_preamble
from tests.bench.writer import Habit, made_run, spec_for, write_log

TRUTH = made_run(((2.0, 4), (5.0, 3)))


@pytest.mark.parametrize(
    ("line", "rate_hz"),
    [
        ("Sample rate: 500 Hz", 500.0),
        ("sampling frequency = 2 kHz", 2000.0),
        ("# rate 1000", 1000.0),
        ("Abtastrate;1000,0;Hz", 1000.0),
        ("Sample interval 1 ms", 1000.0),
        ("dt = 0.002 s", 500.0),
        ("fréquence d'échantillonnage : 1000 Hz", 1000.0),
        ("Test frequency 2 Hz", None),
        ("sample interval 1", None),
        ("operator: rate payer", None),
        ("Date;11.03.2026", None),
    ],
)
def test_rate_in_the_lines_above(line: str, rate_hz: float | None) -> None:
    assert rate_in_preamble(("first line", line)) == (None if rate_hz is None else pytest.approx(rate_hz))


def test_declared_rate_wins_over_the_preamble(tmp_path: Path) -> None:
    path = write_log(tmp_path / "run.csv", Habit(time="none", preamble=4), TRUTH)
    run = read_run(path, BenchSpec.model_validate({"timing": {"sample_rate_hz": 250.0}}))
    assert run.sample_interval_s == pytest.approx(0.004)


def test_time_and_rate_that_disagree_are_told(tmp_path: Path) -> None:
    path = write_log(tmp_path / "run.csv", Habit(), TRUTH)
    run = read_run(path, BenchSpec.model_validate({"timing": {"sample_rate_hz": 250.0}}))
    assert run.sample_interval_s == pytest.approx(0.002)
    assert "sample_rate_disagrees" in {q.code for q in run.quality}


@pytest.mark.parametrize("date", ["2026-03-11 ", "11.03.2026 ", "2026-03-11T"])
def test_clock_with_a_date(date: str, tmp_path: Path) -> None:
    path = write_log(tmp_path / "run.csv", Habit(time="clock"), TRUTH)
    head, *rows = path.read_text().strip().split("\n")
    path.write_text("\n".join([head, *(date + row for row in rows)]) + "\n")
    np.testing.assert_allclose(read_run(path, spec_for(Habit())).time_s, TRUTH.time_s, atol=1e-6)
