"""Motion that repeats itself, and what comes before and after it."""

from __future__ import annotations

import numpy as np

from dampkit.bench.run import Run
from dampkit.frozen import frozen
from dampkit.quantities import Array

SHORT_OF_ONE = 0.06  # of a cycle that a single one may lack where the crank comes up to speed within it ...
SHORT_OF_MORE = 0.02  # ... and that several may lack together
# How far past an end is looked at, in periods, and between which shares of the cycle's own travel the motion goes on:
# a crank that stops evenly within 0.05 of a period covers at most 0.88, 0.70 and 0.42 of them.
BEYOND = ((0.012, 0.3), (0.03, 0.75), (0.06, 0.6))
MOST_BEYOND = 1.8
LEAST_TRAVEL = 0.005  # of the stroke: a smaller travel shows no speed


@frozen
class Stretch:
    """From `begin_s` to `end_s`, whole cycles and parts of one. `single`: one cycle that is not repeated; it may lack
    a little of `period_s`."""

    begin_s: float
    end_s: float
    period_s: float
    stroke_m: float
    single: bool = False

    @property
    def cycles(self) -> int:
        spanned = (self.end_s - self.begin_s) / self.period_s
        return 1 if self.single else int(spanned + (SHORT_OF_ONE if spanned < 1.5 else SHORT_OF_MORE))


def goes_on(run: Run, stretch: Stretch) -> bool:
    """Whether the motion goes on, past either end, much as it does one period earlier or later."""
    return _goes_on_past(run, stretch, -1) or _goes_on_past(run, stretch, 1)


def _goes_on_past(run: Run, stretch: Stretch, way: int) -> bool:
    """Looked at over several times, as a short rest may hide in a long one and a turning point in a short one."""
    end = stretch.end_s if way > 0 else stretch.begin_s
    found = []
    for share, least in BEYOND:
        ends = end + way * share * stretch.period_s * np.array([0.0, 1.0])
        if not run.time_s[0] <= ends[1] <= run.time_s[-1]:
            return False
        wanted = float(np.diff(at(run, ends - way * stretch.period_s))[0])
        if abs(wanted) > LEAST_TRAVEL * stretch.stroke_m:
            found.append(least < float(np.diff(at(run, ends))[0]) / wanted < MOST_BEYOND)
    return bool(found) and all(found)


def rows(run: Run, begin_s: float, end_s: float, most: int) -> Array:
    """Times of about `most` rows from one time to another."""
    a, b = (int(k) for k in np.searchsorted(run.time_s, [begin_s, end_s]))
    return run.time_s[min(a, run.rows_used - 1) : max(b, a + 1) : max(1, (b - a) // most)]


def at(run: Run, time_s: Array) -> Array:
    """Displacement [m] at the times given, straight between the rows."""
    ends = np.searchsorted(run.time_s, [np.min(time_s, initial=np.inf), np.max(time_s, initial=-np.inf)])
    near = slice(max(0, int(ends[0]) - 1), int(ends[1]) + 1)
    return np.asarray(np.interp(time_s, run.time_s[near], run.displacement_m[near]))
