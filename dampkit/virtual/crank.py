"""A crank that slows under load: how far it falls behind its even turning."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from dampkit.quantities import DIRECTIONS, Array
from dampkit.virtual.integrate import Motion, Trace
from dampkit.virtual.plant import Plant
from dampkit.virtual.programme import Programme
from dampkit.virtual.truth import bench_reading

SPEEDS = 40  # at which the steady curve is worked out


def lag_of_trace(programme: Programme, motion: Motion, trace: Trace, droop_per_w: float) -> Array:
    """Turns the crank falls behind, shape (K, N), from the power of a first pass at unbroken speed.

    A first-order correction; the drive holds the mean speed of each stage.
    """
    speed = np.gradient(motion.displacement_m, motion.time_s)
    slowed = droop_per_w * np.maximum(trace.force_n * speed[:, None], 0.0)
    return _behind(programme, motion.time_s, slowed, lambda stage: stage)


def steady_lag(plant: Plant, programme: Programme, time_s: Array, droop_share: float) -> Array:
    """Turns the crank falls behind, shape (K,), slowed in proportion to the power that the steady curve draws.

    `droop_share` of the speed is lost at the greatest power of each stage. On a viscous damper that gives an eighth of
    the share as third harmonic of displacement; unlike directions add a second. Source: own; checked against the
    series of a sine with a phase modulated at twice its frequency.
    """
    speed = np.gradient(programme.displacement(time_s), time_s)
    grid = np.linspace(0.0, float(np.abs(speed).max()), SPEEDS)
    out, back = (bench_reading(plant, side, grid, plant.start_c) for side in DIRECTIONS)
    size = np.abs(speed)
    power = size * np.where(speed > 0.0, np.interp(size, grid, out), np.interp(size, grid, back))
    shared = _behind(
        programme, time_s, power[:, None], lambda stage: droop_share * stage / max(float(stage.max(initial=0.0)), 1e-9)
    )
    return shared[:, 0]


def _behind(programme: Programme, time_s: Array, load: Array, slowed: Callable[[Array], Array]) -> Array:
    """The share of speed lost, by stage from its load, added up over time; each stage ends where it should, (K, N)."""
    lag = np.zeros_like(load)
    for start, stop, drive in zip(programme.starts_s, programme.stops_s, programme.drives, strict=True):
        inside = (time_s >= start) & (time_s <= stop)
        now, rate = time_s[inside], drive.frequency_hz * slowed(load[inside])
        step = np.diff(now)[:, None]
        behind = np.vstack([np.zeros(rate.shape[1]), np.cumsum(0.5 * (rate[1:] + rate[:-1]) * step, axis=0)])
        lag[inside] = behind - behind[-1] * ((now - now[0]) / (now[-1] - now[0]))[:, None]
    return lag


def lagging(programme: Programme, time_s: Array, lag: Array) -> Motion:
    """The programme with its crank so many turns behind, (K, N)."""
    return Motion(time_s, np.stack([programme.displacement(time_s, column) for column in lag.T], axis=1))
