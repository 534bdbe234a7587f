"""A long made-up log of a wanted number of rows: the stages of a ladder, each run for many cycles."""

from __future__ import annotations

from functools import lru_cache
from pathlib import Path

import numpy as np

from dampkit.bench.run import Run
from dampkit.curves.trace import trace
from dampkit.quantities import Array, read_only
from dampkit.virtual.programme import standard_programme
from dampkit.virtual.rig import Rig, run_bench
from dampkit.virtual.units import TWIN_TUBE

STROKE_M, REST_S = 0.05, 0.4
SPEEDS_M_S = (0.005, 0.05, 0.1, 0.2, 0.3, 0.5, 0.75, 1.0)
RATE_HZ, FINE_HZ = 2000.0, 8000.0
AT_ONCE = 200_000
NOISE_MM, NOISE_N = 0.01, 2.0
BENCH = '[signs]\nforce_positive = "tension"\ndisplacement_positive = "extension"\n\n[zero]\nforce_n = 0.0\n'


@lru_cache
def settled_forces() -> tuple[Array, ...]:
    """Force over one period of each speed, as a made-up twin-tube settles to; from mid-stroke into extension."""
    programme = standard_programme(SPEEDS_M_S, stroke_m=STROKE_M, cycles=3.0)
    log = run_bench([TWIN_TUBE], programme, Rig(FINE_HZ), np.random.default_rng(1))[0]
    time_s, place, force = (read_only(values) for values in (log.time_s, log.displacement_m, log.force_n))
    loops = trace(Run("made up", "", time_s.size, time_s, place, force)).loops
    return tuple(np.append(loop.mean_force_n, loop.mean_force_n[0]) for loop in loops)


def motion(rows: int) -> tuple[Array, Array]:
    """Displacement [m] and force [N] of so many rows at `RATE_HZ`, without noise."""
    rates = [v / (np.pi * STROKE_M) for v in SPEEDS_M_S]
    rest = round(REST_S * RATE_HZ)
    slow = round(RATE_HZ / rates[0])
    share = (rows - slow) // (len(rates) - 1) - rest
    x, f = np.zeros(rows), np.zeros(rows)
    at = 0
    for i, (rate, loop) in enumerate(zip(rates, settled_forces(), strict=True)):
        cycles = 1 if i == 0 else max(2, int(share / RATE_HZ * rate))
        turns = np.arange(round(cycles / rate * RATE_HZ)) * rate / RATE_HZ
        turns = turns[: max(0, rows - at - rest)]
        here = slice(at + rest, at + rest + turns.size)
        x[here] = 0.5 * STROKE_M * np.sin(2 * np.pi * turns)
        f[here] = np.interp(turns % 1.0, np.linspace(0, 1, loop.size), loop)
        at = here.stop
    return x, f


def write_long_log(path: Path, rows: int) -> Path:
    """Time in s, displacement in mm, force in N; about 25 bytes a row, 50 MB for 2,000,000. The bench.toml is written beside it."""
    rng = np.random.default_rng(3)
    x, f = motion(rows)
    with path.open("w", newline="") as file:
        file.write("time_s,displacement_mm,force_N\n")
        for start in range(0, rows, AT_ONCE):
            here = slice(start, min(rows, start + AT_ONCE))
            size = here.stop - here.start
            t = np.arange(here.start, here.stop) / RATE_HZ
            table = np.stack(
                [t, 1e3 * x[here] + rng.normal(0, NOISE_MM, size), f[here] + rng.normal(0, NOISE_N, size)], axis=1
            )
            file.write("%.4f,%.4f,%.3f\n" * size % tuple(table.ravel().tolist()))
    path.with_suffix(".bench.toml").write_text(BENCH)
    return path
