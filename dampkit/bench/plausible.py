"""Sizes that no damper bench writes: said, never corrected."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from dampkit.bench.run import Quality, Run
from dampkit.quantities import number

# Common practice, no source: what falls outside is far more likely a wrong unit than a test.
STROKE_M = (1e-3, 0.5)
PEAK_FORCE_N = (5.0, 60_000.0)
SLOWEST_RATE_HZ = 100.0


def with_doubts(run: Run) -> Run:
    """The run with a remark for each size that is out of the ordinary."""
    found = _sizes(run)
    return replace(run, quality=(*run.quality, *found)) if found else run


def _sizes(run: Run) -> list[Quality]:
    stroke_m, peak_n = float(np.ptp(run.displacement_m)), float(np.max(np.abs(run.force_n)))
    rate_hz = 1 / run.sample_interval_s
    out = []
    if not STROKE_M[0] <= stroke_m <= STROKE_M[1]:
        out.append(_doubt(f"The whole travel is {number(1000 * stroke_m)} mm; check the unit of the displacement."))
    if not PEAK_FORCE_N[0] <= peak_n <= PEAK_FORCE_N[1]:
        out.append(_doubt(f"The largest force is {number(peak_n)} N; check the unit of the force."))
    if rate_hz < SLOWEST_RATE_HZ:
        out.append(
            _doubt(f"The log has only {number(rate_hz)} rows a second: what happens at the reversals may be missed.")
        )
    return out


def _doubt(message: str) -> Quality:
    return Quality("size_doubtful", "warning", message)
