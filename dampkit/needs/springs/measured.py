"""A spring as it is: rate at ride height and friction from a log of load against deflection, out and back; the log is read as
any bench's is."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import numpy.typing as npt

from dampkit.bench.channels import Channel, assign_channels
from dampkit.bench.declared import BenchSpec
from dampkit.bench.record import open_record
from dampkit.bench.units import UNITS, to_si
from dampkit.errors import CannotAnalyse, UnreadableLog
from dampkit.frozen import frozen
from dampkit.quantities import Array, Estimate, student_95

WINDOW_SHARE = 0.25  # of the whole travel, about ride height, over which the rate is read; own choice
FEWEST_ROWS = 8  # on each branch inside that window


@frozen
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


def read_spring_log(path: str | Path, spec: BenchSpec | None = None) -> tuple[Array, Array]:
    """Deflection [m] and load [N] in the order read, shape (rows,), both turned so that they grow together.

    Headings and units are found as in a bench log; `spec` declares what they leave open ([columns] displacement and
    force, [units]). Rows with a gap are left out. Raises UnreadableLog where the log cannot be read so.
    """
    record = open_record(Path(path), spec or BenchSpec())
    where, layout = record.where, record.layout
    channels = assign_channels(layout, record.spec, where)
    both = [_with_unit(channels.get(kind), kind, where) for kind in ("displacement", "force")]
    table = record.table(layout, sorted(c.column for c in both))
    x, load = (to_si(table.columns[c.column], c.unit or "", c.kind) for c in both)
    whole = np.isfinite(x) & np.isfinite(load)
    x, load = x[whole], load[whole]
    if x.size < 2 or np.ptp(x) == 0:
        raise UnreadableLog(
            where, "the deflection never changes", "a spring loaded and unloaded in steps", "check the columns"
        )
    load = load if load.mean() >= 0 else -load
    return (x if np.polyfit(x, load, 1)[0] > 0 else -x), load


def _with_unit(channel: Channel | None, kind: str, where: str) -> Channel:
    word = "deflection" if kind == "displacement" else "load"
    if channel is None:
        raise UnreadableLog(where, f"no column for the {word}", f"a heading such as '{kind} [mm]'" if kind == "displacement"
                            else "a heading such as 'force [N]'", f"name it in a bench file: [columns] {kind} = \"...\"")  # fmt: skip
    if channel.unit is None:
        units = ", ".join(UNITS[channel.kind])
        raise UnreadableLog(where, f"column {channel.heading!r} has no unit", f"one of {units}",
                            f'put it in the heading, or in a bench file: [units] {kind} = "..."')  # fmt: skip
    return channel
