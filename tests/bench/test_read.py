"""The same run in many habits of writing is the same Run; what cannot be told is refused with the reason."""

from __future__ import annotations

import csv
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

import dampkit
from dampkit.bench.run import Run
from dampkit.bench.test import read_run
from dampkit.errors import UnreadableLog
from tests.bench.reading import read_log
from tests.bench.writer import Habit, Truth, habits, made_run, spec_for, write_log
from tests.cost import calls, peak_bytes

TRUTH = made_run()
INTEGRATION_M = 2e-5  # trapezoid rule at 500 rows a second: (omega dt)^2 / 12 of the half stroke, at most 7 um
HABITS = habits(130)


def written_the_same(habit: Habit) -> str:
    return " ".join(str(v) for v in vars(habit).values()).replace("\t", "tab").replace("\n", "lf").replace("\r", "cr")


@pytest.mark.parametrize("habit", HABITS, ids=written_the_same)
def test_every_habit_gives_the_same_run_or_names_the_ambiguity(habit: Habit, tmp_path: Path) -> None:
    path = write_log(tmp_path / "run.csv", habit, TRUTH)
    if habit.delimiter == habit.decimal and habit.time == "sample" and not habit.quoted:
        with pytest.raises(UnreadableLog, match="comma may be delimiter and decimal mark at once"):
            read_run(path, spec_for(habit))
        return
    assert_is_truth(read_run(path, spec_for(habit)), TRUTH, integrated=habit.moved == "velocity")


def assert_is_truth(run: Run, truth: Truth, *, integrated: bool = False) -> None:
    assert run.rows_used == run.rows_read == truth.time_s.size
    np.testing.assert_allclose(run.time_s, truth.time_s, atol=2e-6)
    middle = 0.5 * (truth.displacement_m.max() + truth.displacement_m.min())
    expected = truth.displacement_m - (middle if integrated else 0.0)
    np.testing.assert_allclose(run.displacement_m, expected, atol=INTEGRATION_M if integrated else 2e-6)
    np.testing.assert_allclose(run.force_n, truth.force_n, atol=2e-3)
    if run.measured_velocity_m_s is not None:
        np.testing.assert_allclose(run.measured_velocity_m_s, truth.velocity_m_s, atol=2e-6)
    if run.temperature_c is not None:
        np.testing.assert_allclose(run.temperature_c, truth.temperature_c, atol=2e-3)


def test_most_habits_are_read_not_refused() -> None:
    refused = [h for h in HABITS if h.delimiter == h.decimal and h.time == "sample" and not h.quoted]
    assert len(HABITS) - len(refused) >= 100


def test_numbers_are_those_that_the_csv_module_and_float_find(tmp_path: Path) -> None:
    """An independent reading with Python's own csv module."""
    path = write_log(tmp_path / "run.csv", Habit(), TRUTH)
    with path.open(newline="") as file:
        rows = [[float(cell) for cell in row] for row in list(csv.reader(file))[1:]]
    run = read_run(path, spec_for(Habit()))
    np.testing.assert_allclose(run.displacement_m, np.array(rows)[:, 1] / 1000, rtol=1e-12, atol=1e-15)
    np.testing.assert_allclose(run.force_n, np.array(rows)[:, 2], rtol=1e-12)


def test_public_name_reads_with_a_toml_file(tmp_path: Path) -> None:
    path = write_log(tmp_path / "run.csv", Habit(force_positive="compression"), TRUTH)
    bench = tmp_path / "bench.toml"
    bench.write_text('[signs]\nforce_positive = "compression"\ndisplacement_positive = "extension"\n')
    np.testing.assert_allclose(dampkit.read_run(path, bench=bench).force_n, TRUTH.force_n, atol=2e-3)


def test_long_preamble_is_read_past(tmp_path: Path) -> None:
    """Longer than what is looked at first."""
    path = write_log(tmp_path / "run.csv", Habit(preamble=4000), TRUTH)
    assert_is_truth(read_run(path, spec_for(Habit())), TRUTH)


def test_digest_is_that_of_the_file(tmp_path: Path) -> None:
    import hashlib

    path = write_log(tmp_path / "run.csv", Habit(encoding="utf-16"), TRUTH)
    assert read_run(path, spec_for(Habit())).sha256 == hashlib.sha256(path.read_bytes()).hexdigest()


def test_arrays_cannot_be_written_to(tmp_path: Path) -> None:
    run = read_run(write_log(tmp_path / "run.csv", Habit(moved="both"), TRUTH), spec_for(Habit()))
    for values in (run.time_s, run.displacement_m, run.force_n, run.measured_velocity_m_s, run.temperature_c):
        assert values is not None
        with pytest.raises(ValueError, match="read-only"):
            values[0] = 1.0


def test_gaps_and_repeats_are_counted_and_said(tmp_path: Path) -> None:
    path = write_log(tmp_path / "run.csv", Habit(), TRUTH)
    lines = path.read_text().split("\n")
    lines[101] = lines[101].replace(lines[101].split(",")[2], "")
    lines[151] = lines[151].replace(lines[151].split(",")[1], "NaN")
    lines.insert(300, lines[300])
    del lines[500:520]
    path.write_text("\n".join(lines))
    run = read_run(path, spec_for(Habit()))
    said = {q.code: q.message for q in run.quality}
    assert said["rows_missing"].startswith("2 of ")
    assert said["time_disorder"].startswith("1 rows repeat")
    assert "42" in said["gaps"]  # 20 rows left out: 21 intervals of 2 ms
    assert run.rows_used == TRUTH.time_s.size - 20 - 2
    assert {"rows left out", "rows out of order left out"} <= {step.what for step in run.history}


def test_lone_wild_readings_are_left_out_and_said(tmp_path: Path) -> None:
    truth = replace(TRUTH, force_n=TRUTH.force_n.copy())
    truth.force_n[[700, 1500]] = 99_999.0
    run = read_run(write_log(tmp_path / "run.csv", Habit(), truth), spec_for(Habit()))
    assert run.rows_used == truth.time_s.size - 2
    assert "702, 1502" in next(q.message for q in run.quality if q.code == "wild_readings")


def test_coarse_time_is_spread(tmp_path: Path) -> None:
    path = write_log(tmp_path / "run.csv", Habit(), TRUTH)
    lines = [f"{line[:-1] if i == 0 else line}" for i, line in enumerate(path.read_text().strip().split("\n"))]
    cells = [line.split(",") for line in lines[1:]]
    path.write_text("\n".join([lines[0] + ")", *(",".join([f"{float(c[0]):.2f}", *c[1:]]) for c in cells)]) + "\n")
    run = read_run(path, spec_for(Habit()))
    np.testing.assert_allclose(run.time_s, TRUTH.time_s, atol=0.01)
    assert "coarse_time" in {q.code for q in run.quality}


def test_slow_temperature_channel_is_drawn_straight(tmp_path: Path) -> None:
    path = write_log(tmp_path / "run.csv", Habit(), TRUTH)
    lines = path.read_text().split("\n")
    thin = [line if i % 50 == 1 or i == 0 else line.rsplit(",", 1)[0] + "," for i, line in enumerate(lines) if line]
    path.write_text("\n".join(thin) + "\n")
    run = read_run(path, spec_for(Habit()))
    assert run.temperature_c is not None
    np.testing.assert_allclose(run.temperature_c, TRUTH.temperature_c, atol=0.012)


@pytest.mark.parametrize("step_n", [0.5, 2.0])
def test_resolution_is_the_step_of_the_readings(step_n: float, tmp_path: Path) -> None:
    truth = replace(TRUTH, force_n=step_n * np.rint(TRUTH.force_n / step_n))
    run = read_run(write_log(tmp_path / "run.csv", Habit(), truth), spec_for(Habit()))
    assert run.force_resolution_n == pytest.approx(step_n, rel=1e-6)


def test_reading_tells_how_it_was_understood(tmp_path: Path) -> None:
    habit = Habit(encoding="cp1252", delimiter=";", decimal=",", words="de2", heads="row of units", preamble=4)
    reading = read_log(write_log(tmp_path / "run.csv", habit, TRUTH), spec_for(habit))
    assert reading.layout.described() == "cp1252 text, columns apart by semicolon, decimal comma"
    assert reading.channels["displacement"].heading == "Dämpferweg"
    assert reading.layout.first_line == 7


def test_a_log_of_twice_the_rows_is_read_in_as_many_calls(tmp_path: Path) -> None:
    """Row by row there is only the parser, which is one call."""
    runs = [made_run(((1.0, cycles), (2.0, 2 * cycles))) for cycles in (50, 100)]
    logs = [write_log(tmp_path / f"{i}.csv", Habit(temperature=None), run) for i, run in enumerate(runs)]
    short, long = (calls(lambda log=log: read_run(log, spec_for(Habit()))) for log in logs)  # type: ignore[misc]
    assert long < 1.2 * short
    assert peak_bytes(lambda: read_run(logs[1], spec_for(Habit()))) < 3 * logs[1].stat().st_size


def test_declared_unit_wins_and_the_contradiction_is_shown(tmp_path: Path) -> None:
    from dampkit.bench.declared import BenchSpec

    path = write_log(tmp_path / "run.csv", Habit(), TRUTH)
    reading = read_log(path, BenchSpec.model_validate({"units": {"force": "daN"}}))
    np.testing.assert_allclose(np.abs(reading.run.force_n), np.abs(10 * TRUTH.force_n), atol=2e-2)
    assert "though the heading says N" in reading.channels["force"].how
