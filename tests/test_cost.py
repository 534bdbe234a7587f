"""What a whole analysis costs does not grow with the rows of a cycle, only with the loops that they make."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

import dampkit
from dampkit.bench.run import Run
from dampkit.quantities import read_only
from tests.cost import calls, peak_bytes

RUNS = Path(__file__).parents[1] / "sample_runs"


def denser(run: Run, times: int) -> Run:
    """The same motion and force with so many rows for one, straight lines between."""
    at = np.linspace(run.time_s[0], run.time_s[-1], times * (run.time_s.size - 1) + 1)
    x, f = (np.interp(at, run.time_s, values) for values in (run.displacement_m, run.force_n))
    return replace(
        run,
        rows_read=at.size,
        time_s=read_only(at),
        displacement_m=read_only(x),
        force_n=read_only(f),
        measured_velocity_m_s=None,
        temperature_c=None,
    )


@pytest.mark.slow
def test_four_times_the_rows_take_as_many_calls_and_memory_in_proportion() -> None:
    name = "sound_monotube"
    run = dampkit.read_run(RUNS / f"{name}.csv", RUNS / f"{name}.bench.toml")
    short, long = denser(run, 2), denser(run, 8)
    dampkit.analyse(short)  # what is worked out once is not counted
    assert calls(lambda: dampkit.analyse(long)) < 1.5 * calls(lambda: dampkit.analyse(short))
    assert peak_bytes(lambda: dampkit.analyse(long)) < 6 * long.time_s.nbytes
