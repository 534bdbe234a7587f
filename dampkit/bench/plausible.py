"""Sizes that no damper bench writes: said, never corrected."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from dampkit.bench.run import Clears, Quality, Run
from dampkit.bench.units import FACTORS
from dampkit.quantities import number, quantiles

# Common practice, no source: what falls outside is far more likely a wrong unit than a test.
STROKE_M = (1e-3, 0.5)
FORCE_RANGE_N = (10.0, 120_000.0)  # from the lowest to the highest, so that neither gas nor the cell's zero counts
SLOWEST_RATE_HZ = 100.0

# Half the range of force of a car's damper at its top speed: mean of both directions, small cars' and heavy cars'.
# Common practice, no source (from memory); so lower and upper limits lie far out, and no more than a doubt is said.
SPEEDS_M_S = (0.05, 0.1, 0.3, 0.5, 1.0)
LEAST_N, MOST_N = (80.0, 150.0, 300.0, 425.0, 725.0), (450.0, 750.0, 1450.0, 1900.0, 2900.0)
FAR_OUT = 4.0, 2.0  # below and above: friction units lie low, heavy vehicles' units high
SLIPS = {
    "newton and kilonewton are mixed up": 1000.0,
    "a decimal place is off, or kilogram-force or decanewton and newton are mixed up": 10.0,
    "pound-force and newton are mixed up": FACTORS["force"]["lbf"],
}


def with_doubts(run: Run) -> Run:
    """The run with a remark for each size that is out of the ordinary."""
    found = _sizes(run)
    return replace(run, quality=(*run.quality, *found)) if found else run


def _sizes(run: Run) -> list[Quality]:
    stroke_m, range_n = float(np.ptp(run.displacement_m)), float(np.ptp(run.force_n))
    rate_hz = 1 / run.sample_interval_s
    out = []
    if not STROKE_M[0] <= stroke_m <= STROKE_M[1]:
        out.append(_doubt(f"The whole travel is {number(1000 * stroke_m)} mm; check the unit of the displacement."))
    elif not FORCE_RANGE_N[0] <= range_n <= FORCE_RANGE_N[1]:
        out.append(_doubt(f"The force covers {number(range_n)} N in all; check the unit of the force."))
    else:
        out += _force_slip(run, 0.5 * range_n)
    if rate_hz < SLOWEST_RATE_HZ:
        out.append(
            _doubt(
                f"The log has only {number(rate_hz)} rows a second: what happens at the reversals may be missed.",
                "measure",
            )
        )
    return out


def _force_slip(run: Run, half_n: float) -> list[Quality]:
    """A force that no car's damper has at such speeds, and would have but for a usual slip of unit or scale."""
    top_m_s = _top_speed_m_s(run)
    least, most = (float(np.interp(top_m_s, SPEEDS_M_S, forces)) for forces in (LEAST_N, MOST_N))
    if top_m_s < SPEEDS_M_S[0] or least / FAR_OUT[0] <= half_n <= FAR_OUT[1] * most:
        return []
    too = half_n > most
    middle = float(np.sqrt(least * most))
    fitting = {
        said: factor for said, factor in SLIPS.items() if least <= (half_n / factor if too else half_n * factor) <= most
    }
    if not fitting:
        return []
    said = min(fitting, key=lambda s: abs(np.log((half_n / fitting[s] if too else half_n * fitting[s]) / middle)))
    return [
        _doubt(
            f"At {number(top_m_s, 2)} m/s the forces reach {number(half_n, 2)} N, {'more' if too else 'less'} than a"
            f" car's damper has; {number(fitting[said], 3)} times {'less' if too else 'more'} would be usual, as when"
            f" {said}. Check the cell's range and unit, or go on if this unit is no car's."
        )
    ]


def _top_speed_m_s(run: Run) -> float:
    """Speed over stretches of a few rows, the fastest of them left out."""
    rows = max(4, run.rows_used // 20_000)
    x, t = run.displacement_m[::rows], run.time_s[::rows]
    return float(quantiles(np.abs(np.diff(x) / np.diff(t)), [0.995])[0]) if x.size > 4 else 0.0


def _doubt(message: str, clears: Clears = "declare") -> Quality:
    return Quality("size_doubtful", "warning", message, clears)
