"""Displacement from velocity, and what displacement and velocity say about each other."""

from __future__ import annotations

import numpy as np

from dampkit.bench.units import FACTORS, Kind
from dampkit.frozen import frozen
from dampkit.quantities import Array, running_integral

COARSE_ROWS = 200_000
SMALLEST_STROKE = 0.05  # of the range; smaller turns are not strokes
SAME_STROKE = 0.1  # strokes on both sides of a turning point that agree so well show where the middle is
ROUNDS = 3  # each finds more strokes alike than the one before
UNIT_AGREES = 0.1


@frozen
class Integrated:
    displacement_m: Array
    offset_m_s: float  # mean velocity reading that was taken out
    wander_m: float  # peak to peak of the slow drift taken out besides


def displacement_from_velocity(time_s: Array, velocity_m_s: Array) -> Integrated:
    """Integrate a measured velocity and take out its drift, so that steady strokes stay about one middle.

    time_s, velocity_m_s: shape (N,). Zero of the result is the middle of the strokes.
    Trapezoid rule; then the middle of each stroke, (before + 2 turn + after) / 4 at every turning point with like
    strokes on both sides, gives the drift, which is subtracted: a parabola through all of them and what is left, drawn
    straight from one to the next. Drift that is no parabola stays in before the first and after the last of them.
    Source: own; exact for a steady offset, checked against motion with known drift.
    """
    span = float(time_s[-1] - time_s[0])
    raw = running_integral(velocity_m_s, time_s)
    offset = float(raw[-1]) / span
    raw = raw - offset * (time_s - time_s[0])
    drift = np.zeros_like(raw)
    for _ in range(ROUNDS):
        drift = drift + _drift(time_s, raw - drift)
    few = slice(None, None, max(1, time_s.size // 1000))
    steady = np.polynomial.Polynomial.fit(time_s[few], drift[few], 1)
    wander = drift - steady(time_s)
    return Integrated(raw - drift, offset + float(steady.deriv()(0.0)), float(np.ptp(wander)))


def _drift(time_s: Array, position: Array) -> Array:
    """The middle of the motion over time: a parabola through the places where it shows, and straight from it to each."""
    at, middle = _middles(time_s, position)
    if not at.size:
        return np.full(position.shape, 0.5 * (position.max() + position.min()))
    if at.size == 1:
        return np.full(position.shape, middle[0])
    trend = np.polynomial.Polynomial.fit(at, middle, min(2, at.size - 1))
    return np.asarray(trend(time_s) + np.interp(time_s, at, middle - trend(at)))


def _middles(time_s: Array, position: Array) -> tuple[Array, Array]:
    """Times of turning points with like strokes on both sides, and the middle of the motion there."""
    from scipy.signal import find_peaks  # takes long to import, and most logs have a displacement

    step = max(1, position.size // COARSE_ROWS)
    t, x = time_s[::step], position[::step]
    prominence = SMALLEST_STROKE * float(np.ptp(x))
    if prominence <= 0:
        return np.empty(0), np.empty(0)
    turns = np.sort(np.concatenate([find_peaks(s * x, prominence=prominence)[0] for s in (1, -1)]))
    before, turn, after = (x[turns[k : turns.size - 2 + k]] for k in range(3)) if turns.size > 2 else (np.empty(0),) * 3
    up, down = turn - before, turn - after
    alike = (up * down > 0) & (np.abs(up - down) < SAME_STROKE * np.maximum(np.abs(up), np.abs(down)))
    return t[turns[1:-1]][alike] if alike.size else np.empty(0), (0.25 * (before + 2 * turn + after))[alike]


def velocity_over_slope(time_s: Array, displacement: Array, velocity: Array) -> tuple[float, float]:
    """Best factor k in velocity = k d(displacement)/dt, and the correlation of the two; NaN where nothing moves.

    Both are compared over stretches long enough that noise of single rows does not count.
    """
    rows = max(1, time_s.size // 20_000)
    stretch = max(4, rows)
    travelled = running_integral(velocity, time_s)[::stretch]
    x = displacement[::stretch]
    dx, dv = np.diff(x), np.diff(travelled)
    dv = dv - dv.mean()
    dx = dx - dx.mean()
    power = float(dx @ dx)
    if power == 0 or float(dv @ dv) == 0:
        return float("nan"), float("nan")
    return float(dx @ dv) / power, float(dx @ dv) / float(np.sqrt(power * (dv @ dv)))


def unit_by_behaviour(kind: Kind, factor: float) -> str | None:
    """The one unit of a kind whose factor to SI agrees with what the other channel demands, else None."""
    fitting = [unit for unit, si in FACTORS[kind].items() if abs(abs(factor) / si - 1) < UNIT_AGREES]
    return fitting[0] if len(fitting) == 1 else None
