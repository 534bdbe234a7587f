"""A reading written down as bench.toml reads the next log the same."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from dampkit.bench.declared import BenchSpec
from dampkit.bench.record import Reading
from dampkit.bench.save import bench_toml
from dampkit.bench.test import open_test, read_test
from dampkit.bench.toml_file import load_toml
from tests.bench.reading import read_log
from tests.bench.writer import HEADS, Habit, made_run, spec_for, write_log

TRUTH = made_run(((2.0, 3), (5.0, 3)))


@pytest.mark.parametrize("time", ["s", "ms", "clock", "none"])
@pytest.mark.parametrize("heads", sorted(HEADS))
@pytest.mark.parametrize(("delimiter", "decimal"), [(",", "."), (";", ","), (",", ","), ("\t", ".")])
def test_saved_reading_reads_the_same(time: str, heads: str, delimiter: str, decimal: str, tmp_path: Path) -> None:
    habit = Habit(
        time=time, heads=heads, delimiter=delimiter, decimal=decimal, moved="both", force="kN",
        force_positive="compression", displacement_positive="compression",
    )  # fmt: skip
    path, spec = write_log(tmp_path / "run.csv", habit, TRUTH), spec_for(habit)
    first = read_log(path, spec)
    saved = tmp_path / "bench.toml"
    saved.write_text(bench_toml(first.channels, first.layout, first.orientation, spec), encoding="utf-8")
    again = read_log(path, saved)
    np.testing.assert_array_equal(again.run.force_n, first.run.force_n)
    np.testing.assert_array_equal(again.run.displacement_m, first.run.displacement_m)
    np.testing.assert_array_equal(again.run.time_s, first.run.time_s)
    assert again.run.zero_known


def test_assumed_signs_are_not_written_down(tmp_path: Path) -> None:
    reading = read_log(write_log(tmp_path / "run.csv", Habit(), TRUTH))
    text = bench_toml(reading.channels, reading.layout, reading.orientation, spec_for(Habit()))
    assert "\n[signs]" not in text
    assert '# force_positive = "tension"' in text


def test_what_is_told_of_files_and_loops_is_kept(tmp_path: Path) -> None:
    told = {"run.csv": {"crank_rpm": 90.0, "setting": 'a "quoted" one'}}
    said = {"log": {"form": "loops"}, "motion": {"stroke_mm": 50.0}, "files": {"told": told, "name": "{setting}.csv"}}
    spec = BenchSpec.model_validate(said)
    rows = "\n".join(f"{a},{300 * np.sin(np.radians(a)):.3f}" for a in range(360))
    (tmp_path / "run.csv").write_text(f"crank angle deg,force N\n{rows}\n")
    (reading,) = open_test([tmp_path / "run.csv"], spec)[0]
    assert isinstance(reading, Reading)
    place = tmp_path / "bench.toml"
    place.write_text(bench_toml(reading.channels, reading.layout, reading.orientation, spec), encoding="utf-8")
    again = load_toml(place, BenchSpec)
    assert (again.log, again.motion, again.files) == (spec.log, spec.motion, spec.files)
    assert again.columns.angle == "crank angle deg"
    run = read_test([tmp_path / "run.csv"], again).run
    np.testing.assert_allclose(run.displacement_m, reading.run.displacement_m)
