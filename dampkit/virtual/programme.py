"""What the made-up bench is told to do: stages, dwells and the crank that drives them."""

from __future__ import annotations

import math
from functools import cached_property
from itertools import accumulate

import numpy as np

from dampkit.errors import BadSettings
from dampkit.frozen import frozen
from dampkit.quantities import Array

STANDARD_SPEEDS_M_S = (0.005, 0.05, 0.1, 0.2, 0.3, 0.5, 0.75, 1.0)


@frozen
class Drive:
    """Stroke, frequency and how many cycles, run-up not counted: one stage.

    `corner_s` turns the crank's motion into a triangle: constant speed, reached from each turning point in that time at
    constant acceleration. `sweep_from` is the frequency at the start over `frequency_hz`, which is then the mean: it
    rises in a line to as much above it.
    """

    stroke_m: float
    frequency_hz: float
    cycles: float = 5.0
    corner_s: float | None = None
    sweep_from: float = 1.0

    def __post_init__(self) -> None:
        if self.cycles <= 0 or (2.0 * self.cycles) % 1.0:
            raise BadSettings("programme", f"{self.cycles:g} cycles", "whole or half cycles, which end at mid-stroke")
        if self.corner_s is not None and not 0.0 < self.corner_s * self.frequency_hz <= 0.25:
            raise BadSettings("programme", f"corners of {self.corner_s:g} s", "above 0 and up to a quarter cycle")
        if not 0.0 < self.sweep_from <= 1.0:
            raise BadSettings("programme", f"a sweep from {self.sweep_from:g} of its mean", "above 0 up to 1")

    @classmethod
    def at_speed(
        cls, peak_velocity_m_s: float, cycles: float = 5.0, stroke_m: float = 0.05, corner_s: float | None = None
    ) -> Drive:
        """A harmonic stage of a given peak speed; with `corner_s` a triangle of that constant speed."""
        if corner_s is not None:
            return cls(stroke_m, 0.5 / (stroke_m / peak_velocity_m_s + corner_s), cycles, corner_s)
        return cls(stroke_m, peak_velocity_m_s / (math.pi * stroke_m), cycles)

    @property
    def peak_velocity_m_s(self) -> float:
        """Peak speed of the harmonic motion or plateau of a triangle; a slider-crank exceeds it a little."""
        fastest = 2.0 - self.sweep_from
        if self.corner_s is not None:
            return fastest * self.stroke_m / (0.5 / self.frequency_hz - self.corner_s)
        return fastest * math.pi * self.stroke_m * self.frequency_hz


@frozen
class Programme:
    """Stages in order with a rest before each and after the last, starting and ending at mid-stroke.

    `crank_ratio` is crank radius over rod length; 0 gives a sine. `run_up_turns` is the part of a turn in which the
    crank comes up to speed at constant angular acceleration, and in which it stops again. One that `runs_on` has no
    rest between stages: the crank goes from one speed to the next. The record begins `record_from_turns` into the
    first stage.
    """

    drives: tuple[Drive, ...]
    dwell_s: float = 0.4
    crank_ratio: float = 0.0
    run_up_turns: float = 0.025
    centre_m: float = 0.0
    runs_on: bool = False
    record_from_turns: float | None = None

    def __post_init__(self) -> None:
        if not 0.0 <= self.crank_ratio < 1.0:
            raise BadSettings("programme", f"crank ratio {self.crank_ratio:g}", "0 to below 1", "use a longer rod")
        if self.runs_on and len({(d.stroke_m, d.corner_s is None) for d in self.drives}) > 1:
            raise BadSettings("programme", "stages that run on with different strokes", "one stroke and one motion")
        if self.runs_on and any(d.cycles % 1.0 for d in self.drives):
            raise BadSettings("programme", "half cycles in stages that run on", "whole cycles")

    @cached_property
    def starts_s(self) -> tuple[float, ...]:
        """When each stage leaves rest, or the one before it."""
        return tuple(stop - self._moving_s(index) for index, stop in enumerate(self.stops_s))

    @cached_property
    def stops_s(self) -> tuple[float, ...]:
        """When each stage has come to rest, or goes over into the next."""
        dwells = [self.dwell_s if i == 0 or not self.runs_on else 0.0 for i in range(len(self.drives))]
        return tuple(accumulate(dwell + self._moving_s(index) for index, dwell in enumerate(dwells)))

    @property
    def duration_s(self) -> float:
        return self.stops_s[-1] + self.dwell_s

    @property
    def record_from_s(self) -> float:
        """When the bench begins to write."""
        turns = self.record_from_turns
        return 0.0 if turns is None else self.starts_s[0] + (turns + self.run_up_turns) / self.drives[0].frequency_hz

    def _before(self, index: int) -> float:
        """Speed of the crank when the stage begins, over its own: 0 from rest."""
        if not self.runs_on or index == 0:
            return 0.0
        past, drive = self.drives[index - 1], self.drives[index]
        return past.frequency_hz * (2.0 - past.sweep_from) / (drive.frequency_hz * drive.sweep_from)

    def _stops(self, index: int) -> float:
        return 0.0 if self.runs_on and index + 1 < len(self.drives) else 1.0

    def _moving_s(self, index: int) -> float:
        drive, before = self.drives[index], self._before(index)
        lost = (1.0 - before) / max(1.0, before) * self.run_up_turns + self._stops(index) * self.run_up_turns
        return (drive.cycles + lost) / drive.frequency_hz

    def turns(self, index: int, time_s: Array) -> Array:
        """Crank angle of a stage in turns against time since its start: comes up to speed, runs, stops or runs on."""
        drive, before = self.drives[index], self._before(index)
        fall = max(2.0 * self.run_up_turns / drive.frequency_hz, 1e-9)
        rise = fall / max(1.0, before)
        end = self._moving_s(index)
        t = np.clip(time_s, 0.0, end)
        up, down = np.minimum(t, rise), np.maximum(t - (end - fall), 0.0)
        gone = (1.0 - before) * (0.5 * up**2 / rise) + before * up + np.maximum(t - rise, 0.0)
        turns = drive.frequency_hz * (gone - self._stops(index) * (0.5 * down**2 / fall))
        if drive.sweep_from == 1.0:
            return np.asarray(turns)
        return np.asarray(turns * (drive.sweep_from + (1.0 - drive.sweep_from) * turns / drive.cycles))

    def position(self, index: int, turns: Array) -> Array:
        """Displacement against crank angle, starting at mid-angle into extension. A slider-crank bends the sine."""
        drive = self.drives[index]
        if drive.corner_s is not None:
            return _triangle(drive.stroke_m, drive.corner_s * drive.frequency_hz, turns)
        radius, angle = 0.5 * drive.stroke_m, 2.0 * np.pi * turns
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
        for index, (start, drive) in enumerate(zip(self.starts_s, self.drives, strict=True)):
            if start - now > 1e-9:
                pieces.append(now + _spread(start - now, 0.02, 1e-3))
            step = 1.0 / (drive.frequency_hz * (2.0 - drive.sweep_from) * per_cycle)
            pieces.append(start + _spread(self._moving_s(index), step, min(step, 2e-3)))
            now = start + self._moving_s(index)
        pieces.append(now + _spread(self.duration_s - now, 0.02, 1e-3))
        return np.concatenate(pieces)


def _triangle(stroke_m: float, corner: float, turns: Array) -> Array:
    """Constant speed with corners that take a share of the cycle each side of the turning point. Source: own."""
    quarter = np.abs((turns + 0.25) % 1.0 - 0.5)  # 0 at the turning point in extension, a half at the other
    side = np.where(quarter < 0.25, 1.0, -1.0)
    to_turn = np.minimum(quarter, 0.5 - quarter)
    speed = stroke_m / (0.5 - corner)
    rounded = np.where(to_turn < corner, 0.5 * to_turn**2 / corner, to_turn - 0.5 * corner)
    return np.asarray(side * (0.5 * stroke_m - speed * rounded))


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
