"""Motions in closed form: drives of several kinds, run as stages with or without rests, as a bench would log them."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from dampkit.bench.run import Run
from dampkit.quantities import Array, read_only

FINE = np.linspace(0, 1, 200_001)


@dataclass(frozen=True)
class Drive:
    """One cycle of unit stroke over a phase of 0 to 1, from place 0, and its exact derivative."""

    place: Callable[[Array], Array]
    speed: Callable[[Array], Array]

    @cached_property
    def top(self) -> float:
        """Mean of the top speeds out and back, in strokes a period."""
        speed = self.speed(FINE)
        return float(0.5 * (speed.max() - speed.min()))


def sine() -> Drive:
    return Drive(lambda p: 0.5 * np.sin(2 * np.pi * p), lambda p: np.pi * np.cos(2 * np.pi * p))


def triangle(dwell: float = 0.0) -> Drive:
    """Constant speed out and back, resting for a share of the period at each end."""
    corners = np.array([0, 0.25 - dwell / 2, 0.25 + dwell / 2, 0.75 - dwell / 2, 0.75 + dwell / 2, 1])
    places = np.array([0, 0.5, 0.5, -0.5, -0.5, 0])
    slopes = np.diff(places) / np.diff(np.maximum.accumulate(corners + 1e-12 * np.arange(6)))

    def speed(p: Array) -> Array:
        return np.asarray(slopes[np.clip(np.searchsorted(corners, p % 1, side="right") - 1, 0, 4)])

    return Drive(lambda p: np.interp(p % 1, corners, places), speed)


def slider_crank(rod_over_crank: float) -> Drive:
    """x = r cos a + sqrt(l2 - r2 sin2 a), from where the crank is at right angles to the stroke. Source: plane geometry."""
    q = rod_over_crank

    def place(p: Array) -> Array:
        a = 2 * np.pi * p - np.pi / 2
        return np.asarray(0.5 * (np.cos(a) + np.sqrt(q**2 - np.sin(a) ** 2) - np.sqrt(q**2 - 1)))

    def speed(p: Array) -> Array:
        a = 2 * np.pi * p - np.pi / 2
        return np.asarray(-np.pi * (np.sin(a) + np.sin(a) * np.cos(a) / np.sqrt(q**2 - np.sin(a) ** 2)))

    return Drive(place, speed)


def slowing_crank(share: float) -> Drive:
    """A crank whose turning speed swings by a share with the load, once out and once back, unequally."""

    def angle(p: Array) -> Array:
        return np.asarray(2 * np.pi * p + share * (np.sin(2 * np.pi * p) + 0.5 * np.sin(4 * np.pi * p)))

    def rate(p: Array) -> Array:
        return np.asarray(2 * np.pi * (1 + share * (np.cos(2 * np.pi * p) + np.cos(4 * np.pi * p))))

    return Drive(lambda p: 0.5 * np.sin(angle(p)), lambda p: 0.5 * np.cos(angle(p)) * rate(p))


DRIVES = {
    "sine": sine(),
    "triangle": triangle(),
    "triangle with dwells": triangle(0.05),
    "short rod": slider_crank(3.0),
    "slowing crank": slowing_crank(0.05),
}


@dataclass(frozen=True)
class Leg:
    """A stage as it is run: so many cycles, then a rest."""

    stroke_m: float
    frequency_hz: float
    cycles: float
    rest_s: float = 0.4


def leg(speed_m_s: float, cycles: float, drive: Drive, stroke_m: float = 0.05, rest_s: float = 0.4) -> Leg:
    """A stage whose top speed is so much."""
    return Leg(stroke_m, speed_m_s / (drive.top * stroke_m), cycles, rest_s)


@dataclass(frozen=True)
class Ran:
    """A run and when each of its legs began and ended."""

    run: Run
    begins_s: tuple[float, ...]
    ends_s: tuple[float, ...]


def ran(
    drive: Drive,
    legs: list[Leg],
    rate_hz: float = 1000.0,
    noise_m: float = 0.0,
    step_m: float = 0.0,
    first_rest_s: float = 0.4,
    seed: int = 1,
) -> Ran:
    """The legs one after the other on one crank, whose phase goes on from leg to leg. `step_m`: quantisation."""
    begins: list[float] = []
    ends: list[float] = []
    strokes: list[float] = []
    marks, phases = [0.0], [0.0]
    now, phase = first_rest_s, 0.0
    for each in legs:
        begins.append(now)
        marks, phases, strokes = [*marks, now], [*phases, phase], [*strokes, each.stroke_m]
        now, phase = now + each.cycles / each.frequency_hz, phase + each.cycles
        ends.append(now)
        marks, phases = [*marks, now], [*phases, phase]
        now += each.rest_s
    t = np.arange(0, now, 1 / rate_hz)
    which = np.clip(np.searchsorted(begins, t, side="right") - 1, 0, len(legs) - 1)
    place = drive.place(np.interp(t, marks, phases)) * np.array(strokes)[which]
    place = place + np.random.default_rng(seed).normal(0, noise_m, t.size)
    return Ran(as_run(t, np.round(place / step_m) * step_m if step_m else place, step_m), tuple(begins), tuple(ends))


def as_run(time_s: Array, place_m: Array, step_m: float = 0.0) -> Run:
    """A run with a force of 1000 N s/m times the speed between rows."""
    force = 1000 * np.gradient(place_m, time_s)
    t, x, f = (read_only(y) for y in (time_s, place_m, force))
    return Run("made-up", "", t.size, t, x, f, zero_known=True, displacement_resolution_m=step_m)


def part(run: Run, first: int, last: int) -> Run:
    """Some rows of a run."""
    return as_run(run.time_s[first:last], run.displacement_m[first:last], run.displacement_resolution_m)
