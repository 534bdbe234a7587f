"""A quick version of the speed check, on the processor time, which other work on the machine disturbs least."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.benchmarks.long_log import write_long_log
from tests.benchmarks.speed import MEMORY, TIMES, analyse, bare, paired, spent


@pytest.mark.slow
def test_a_long_log_takes_little_more_than_to_read_it(tmp_path: Path) -> None:
    log = write_long_log(tmp_path / "long.csv", 2_000_000)
    found = paired(analyse(log), bare(log), rounds=3)
    assert found.busy_ratio < 1.25 * TIMES  # the bound itself is for a quiet machine; see tests.benchmarks.speed
    size_mb = log.stat().st_size / 1e6
    assert all(s.peak_mb * 1.048576 < MEMORY * size_mb for s in found.ours)


@pytest.mark.slow
def test_the_cost_grows_no_faster_than_the_rows(tmp_path: Path) -> None:
    took = [spent(analyse(write_long_log(tmp_path / f"{n}.csv", n))).busy_s for n in (500_000, 2_000_000)]
    assert took[1] < 4 * took[0]
