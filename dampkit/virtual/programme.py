"""What the made-up bench is told to do: stages, dwells and the crank that drives them."""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import accumulate

import numpy as np

from dampkit.errors import BadSettings
from dampkit.quantities import Array

STANDARD_SPEEDS_M_S = (0.005, 0.05, 0.1, 0.2, 0.3, 0.5, 0.75, 1.0)


@dataclass(frozen=True)
class Drive:
    """Stroke, frequency and how many cycles, run-up not counted."""

    stroke_m: float
    frequency_hz: float
    cycles: float = 5.0

    @classmethod
    def at_speed(cls, peak_velocity_m_s: float, cycles: float = 5.0, stroke_m: float = 0.05) -> Drive:
        """A harmonic stage of a given peak speed."""
        return cls(stroke_m, peak_velocity_m_s / (math.pi * stroke_m), cycles)

    @property
    def peak_velocity_m_s(self) -> float:
        """Peak speed of the harmonic motion; a slider-crank exceeds it a little."""
        return math.pi * self.stroke_m * self.frequency_hz


@dataclass(frozen=True)
class Programme:
    """Stages in order with a rest before each and after the last, starting and ending at mid-stroke.

    `crank_ratio` is crank radius over rod length; 0 gives a sine. `run_up_turns` is the part of a turn in which the
    crank comes up to speed at constant angular acceleration, and in which it stops again.
    """

    drives: tuple[Drive, ...]
    dwell_s: float = 0.4
    crank_ratio: float = 0.0
    run_up_turns: float = 0.025
    centre_m: float = 0.0

    def __post_init__(self) -> None:
        if not 0.0 <= self.crank_ratio < 1.0:
            raise BadSettings("programme", f"crank ratio {self.crank_ratio:g}", "0 to below 1", "use a longer rod")
        odd = [d.cycles for d in self.drives if d.cycles <= 0 or (2.0 * d.cycles) % 1.0]
        if odd:
            raise BadSettings("programme", f"{odd[0]:g} cycles", "whole or half cycles, which end at mid-stroke")

    @property
    def starts_s(self) -> tuple[float, ...]:
        """When each stage leaves rest."""
        return tuple(stop - self._moving_s(drive) for stop, drive in zip(self.stops_s, self.drives, strict=True))

    @property
    def stops_s(self) -> tuple[float, ...]:
        """When each stage has come to rest."""
        return tuple(accumulate(self.dwell_s + self._moving_s(drive) for drive in self.drives))

    @property
    def duration_s(self) -> float:
        return self.stops_s[-1] + self.dwell_s

    def _moving_s(self, drive: Drive) -> float:
        return (drive.cycles + 2.0 * self.run_up_turns) / drive.frequency_hz

    def turns(self, index: int, time_s: Array) -> Array:
        """Crank angle of a stage in turns against time since it left rest; comes up to speed, runs, stops."""
        drive = self.drives[index]
        rise = max(2.0 * self.run_up_turns / drive.frequency_hz, 1e-9)
        end = self._moving_s(drive)
        t = np.clip(time_s, 0.0, end)
        up, down = np.minimum(t, rise), np.maximum(t - (end - rise), 0.0)
        return drive.frequency_hz * (0.5 * up**2 / rise + np.maximum(t - rise, 0.0) - 0.5 * down**2 / rise)

    def position(self, index: int, turns: Array) -> Array:
        """Displacement against crank angle, starting at mid-angle into extension. A slider-crank bends the sine."""
        radius, angle = 0.5 * self.drives[index].stroke_m, 2.0 * np.pi * turns
        if self.crank_ratio == 0.0:
            return radius * np.sin(angle)
        rod = radius / self.crank_ratio
        return radius * np.sin(angle) + np.sqrt(rod**2 - (radius * np.cos(angle)) ** 2) - math.sqrt(rod**2 - radius**2)

    def displacement(self, time_s: Array, lost_turns: Array | None = None) -> Array:
        """Displacement at any times of the run, same shape. `lost_turns` is how far the crank lags at each of them."""
        out = np.zeros_like(time_s)
        for index, (start, stop) in enumerate(zip(self.starts_s, self.stops_s, strict=True)):
            inside = (time_s >= start) & (time_s <= stop)
            turns = self.turns(index, time_s[inside] - start)
            out[inside] = self.position(index, turns if lost_turns is None else turns - lost_turns[inside])
        return out + self.centre_m

    def steps(self, per_cycle: int = 240) -> Array:
        """Times for the integration: so many equal steps a turn, finer where a stage starts or ends. Shape (K,)."""
        pieces, now = [np.zeros(1)], 0.0
        for start, drive in zip(self.starts_s, self.drives, strict=True):
            pieces.append(now + _spread(start - now, 0.02, 1e-3))
            step = 1.0 / (drive.frequency_hz * per_cycle)
            pieces.append(start + _spread(self._moving_s(drive), step, min(step, 2e-3)))
            now = start + self._moving_s(drive)
        pieces.append(now + _spread(self.duration_s - now, 0.02, 1e-3))
        return np.concatenate(pieces)


def _spread(length_s: float, step_s: float, edge_s: float) -> Array:
    """Times from 0 (left out) to a length: small steps at both edges growing by 1.3 up to the wanted step."""
    grown = np.minimum(edge_s * 1.3 ** np.arange(200), step_s)
    edge = grown[: int(np.argmax(grown >= step_s))]
    edge = edge[np.cumsum(edge) < 0.25 * length_s]
    rest = length_s - 2.0 * edge.sum()
    count = max(1, math.ceil(rest / step_s - 1e-6))
    steps = np.concatenate([edge, np.full(count, rest / count), edge[::-1]])
    times = np.cumsum(steps)
    times[-1] = length_s
    return times


def standard_programme(
    speeds_m_s: tuple[float, ...] = STANDARD_SPEEDS_M_S,
    *,
    stroke_m: float = 0.05,
    cycles: float = 5.0,
    repeat_first: bool = False,
) -> Programme:
    """One slow cycle at the first speed, then `cycles` at each of the others; the second speed again if asked."""
    ladder = [Drive.at_speed(v, 1.0 if i == 0 else cycles, stroke_m) for i, v in enumerate(speeds_m_s)]
    if repeat_first:
        ladder.append(ladder[1])
    return Programme(tuple(ladder), dwell_s=0.15)
