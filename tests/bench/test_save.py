"""A reading written down as bench.toml reads the next log the same."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from dampkit.bench.read import read_log
from dampkit.bench.save import bench_toml
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
