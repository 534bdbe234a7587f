"""Turning points against scipy's peaks, on motion where both must agree, and at a cost in proportion to the rows."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.signal import find_peaks

from dampkit.bench.run import Run
from dampkit.curves.turning import half_strokes
from dampkit.quantities import Array, read_only
from tests.cost import calls, peak_bytes


def as_run(x: Array, interval_s: float = 1e-3) -> Run:
    t = read_only(interval_s * np.arange(x.size))
    return Run("made-up", "", x.size, t, read_only(x), read_only(np.zeros(x.size)))


@pytest.mark.parametrize("noise", [0.0, 0.002, 0.01])
@pytest.mark.parametrize("seed", range(5))
def test_they_are_the_peaks_that_stand_out(noise: float, seed: int) -> None:
    rng = np.random.default_rng(seed)
    t = np.arange(20_000) * 1e-3
    clean = np.sin(2 * np.pi * np.cumsum(1e-3 * (0.4 + 2 * (t > 7) + rng.uniform(0, 1))))
    clean *= 1 - 0.6 * (t > 13)
    strokes = half_strokes(as_run(clean + rng.normal(0, noise, t.size)))
    peaks = np.sort(np.concatenate([find_peaks(s * clean, prominence=0.1)[0] for s in (1, -1)]))
    found = np.append(strokes.start_s, strokes.start_s[-1] + strokes.duration_s[-1])
    wanted = t[peaks]
    found, wanted = found[found < 19.7], wanted[wanted < 19.7]  # at the very end one side of a peak is missing
    assert found.size == wanted.size
    even = (np.abs(wanted - 7) > 0.5) & (np.abs(wanted - 13) > 0.5)  # a turn is the middle only where speeds are alike
    np.testing.assert_allclose(found[even], wanted[even], atol=0.012)


def test_the_cost_grows_with_the_rows_and_no_faster() -> None:
    """Ten times the rows: no call for less than hundreds of rows, and the memory of a fixed number of arrays."""

    def noisy(rows: int) -> Run:
        return as_run(np.sin(0.02 * np.arange(rows)) + np.random.default_rng(1).normal(0, 2e-4, rows))

    short, long = noisy(80_000), noisy(800_000)
    more = long.rows_used - short.rows_used
    assert calls(lambda: half_strokes(long)) < calls(lambda: half_strokes(short)) + more / 500
    assert peak_bytes(lambda: half_strokes(long)) < 6 * long.displacement_m.nbytes
