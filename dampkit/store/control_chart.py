"""Is a number of a unit type, or of a bench, where it has always been: individuals and moving range.

Limits come from the differences of neighbours, not from the spread of all, so that a step or a drift does not widen the
limits that are to show it. Source: [nist_handbook], section 6.3.2.2 for the chart, 6.3.2 for the run of eight.
"""

from __future__ import annotations

import math

import numpy as np

from dampkit.frozen import frozen
from dampkit.quantities import Array

D2 = 2.0 / math.sqrt(math.pi)  # mean range of two normal values, in standard deviations: 1.128
D3 = math.sqrt(2.0 - 4.0 / math.pi)  # standard deviation of that range: 0.853
TO_LIMIT = 3.0 / D2  # 2.660: from the mean moving range to the limits of single values
D4 = 1.0 + 3.0 * D3 / D2  # 3.267: upper limit of the moving range itself
RUN = 8  # in a row on one side of the middle
LEAST = 8  # values for limits that are more than a guess; common practice, no source


@frozen
class Chart:
    """`values` in order of time, shape (n,); `out` beyond the limits, `jumps` a range beyond its own, `runs` in a long run.

    The three are indices into `values`; a jump is that of the later of two neighbours.
    """

    values: Array
    middle: float
    low: float
    high: float
    out: tuple[int, ...]
    jumps: tuple[int, ...]
    runs: tuple[int, ...]

    @property
    def steady(self) -> bool:
        return not (self.out or self.jumps or self.runs)


def chart(values: Array) -> Chart | None:
    """None where there are too few values for limits, or all are the same."""
    if len(values) < LEAST:
        return None
    moving = np.abs(np.diff(values))
    middle, mean_range = float(values.mean()), float(moving.mean())
    if mean_range == 0.0:
        return None
    reach = TO_LIMIT * mean_range
    out = np.flatnonzero(np.abs(values - middle) > reach)
    jumps = np.flatnonzero(moving > D4 * mean_range) + 1
    return Chart(
        values,
        middle,
        middle - reach,
        middle + reach,
        tuple(map(int, out)),
        tuple(map(int, jumps)),
        _long_runs(values - middle),
    )


def _long_runs(from_middle: Array) -> tuple[int, ...]:
    """Indices that end a run of RUN or more on one side."""
    found, up, down = [], 0, 0
    for i, away in enumerate(from_middle):
        up, down = (up + 1 if away > 0 else 0), (down + 1 if away < 0 else 0)
        if max(up, down) >= RUN:
            found.append(i)
    return tuple(found)
