"""A spring as it is: rate at ride height and friction from a log of load against deflection, out and back."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from dampkit.errors import CannotAnalyse
from dampkit.quantities import Array, Estimate, student_95

WINDOW_SHARE = 0.25  # of the whole travel, about ride height, over which the rate is read; own choice
FEWEST_ROWS = 8  # on each branch inside that window


@dataclass(frozen=True)
class MeasuredSpring:
    """At ride height. `friction_n` is half of the loop's width; None where the log has one way only."""

    rate_n_m: Estimate
    friction_n: Estimate | None
    deflection_m: float
    load_n: float


def spring_from_log(
    deflection_m: Array, load_n: Array, ride_load_n: float, where: str = "spring log"
) -> MeasuredSpring:
    """Rate and friction at the ride load. Both arrays shape (N,), in the order read, deflection growing with load.

    Loading and unloading rows are told apart by the direction in which the deflection last moved. One straight line
    with a common slope and one level for each branch is fitted over a window about ride height; half the distance
    of the levels is friction. Intervals: Student, residuals of that fit. Source: own; [jcgm100] 4.2 for the interval.
    Raises CannotAnalyse where the log does not reach the ride load or has too few rows there.
    """
    rising = _last_moved_up(deflection_m)
    middle = _deflection_at(deflection_m, load_n, ride_load_n, where)
    reach = 0.5 * WINDOW_SHARE * float(np.ptp(deflection_m))
    near = np.abs(deflection_m - middle) <= reach
    counts = [int((near & way).sum()) for way in (rising, ~rising)]
    if max(counts) < FEWEST_ROWS:
        raise CannotAnalyse(
            where,
            f"{max(counts)} rows within {1e3 * reach:.1f} mm of ride height",
            f"at least {FEWEST_ROWS} on the way in or out",
            "read the load at smaller steps about ride height",
        )
    both = min(counts) >= FEWEST_ROWS
    rows = near if both else near & (rising if counts[0] >= counts[1] else ~rising)
    side = np.where(rising[rows], 1.0, -1.0)
    columns = [np.ones(side.size), deflection_m[rows] - middle] + ([side] if both else [])
    values, halves = _straight(np.column_stack(columns), load_n[rows])
    estimates = [Estimate(float(v), float(v - h), float(v + h)) for v, h in zip(values, halves, strict=True)]
    return MeasuredSpring(estimates[1], estimates[2] if both else None, middle, ride_load_n)


def _last_moved_up(x: Array) -> npt.NDArray[np.bool_]:
    """True where the last step that was one went up; rows before the first step count with it."""
    step = np.sign(np.diff(x, prepend=x[0]))
    places = np.where(step != 0, np.arange(x.size), 0)
    latest = np.maximum.accumulate(places)
    first = int(np.argmax(step != 0))
    return np.asarray(np.where(latest > 0, step[latest], step[first]) > 0)


def _deflection_at(x: Array, load: Array, ride_load: float, where: str) -> float:
    """Deflection at the ride load, from a straight line through the nearest tenth of the rows."""
    if not load.min() <= ride_load <= load.max():
        raise CannotAnalyse(
            where,
            f"loads from {load.min():.0f} to {load.max():.0f} N",
            f"a log that goes past the ride load of {ride_load:.0f} N",
            "load the spring further, or check the units",
        )
    near = np.argsort(np.abs(load - ride_load))[: max(FEWEST_ROWS, x.size // 10)]
    slope, level = np.polyfit(load[near], x[near], 1)
    return float(level + slope * ride_load)


def _straight(columns: Array, y: Array) -> tuple[Array, Array]:
    """Least squares and the 95 % half-widths of its coefficients."""
    values, *_ = np.linalg.lstsq(columns, y, rcond=None)
    spare = y.size - columns.shape[1]
    residual = y - columns @ values
    covariance = np.linalg.inv(columns.T @ columns) * float(residual @ residual) / spare
    return np.asarray(values), np.asarray(student_95(spare) * np.sqrt(np.diag(covariance)))
