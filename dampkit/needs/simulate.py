"""The two-mass corner with a damper as it is, over a road, for many cases at once."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from dampkit.needs.corner import GRAVITY_M_S2, Corner
from dampkit.needs.kick import held_slope, looker, speed_change
from dampkit.needs.wheel_curve import WheelCurves
from dampkit.quantities import Array, read_only

STEP_S = 0.0025
SERIES_TERMS = 14  # of a matrix exponential, argument at most 1/2: the rest is below rounding
MOST_TURN = 1.0  # rad that the stiffest rate may turn the lightest mass in a step; own choice
TOUCH_M = 1e-9  # play counts as taken up within this


@dataclass(frozen=True)
class Stops:
    """Rubber stops at the wheel: travel from the standing position before each touches, and its rate. inf = none."""

    compression_m: float = float("inf")
    compression_n_m: float = 0.0
    extension_m: float = float("inf")
    extension_n_m: float = 0.0

    def force_n(self, travel_m: Array) -> Array:
        """Upward on the body, same shape; travel is positive in extension."""
        inner = self.compression_n_m * np.maximum(-travel_m - self.compression_m, 0.0)
        outer = self.extension_n_m * np.maximum(travel_m - self.extension_m, 0.0)
        return np.asarray(inner - outer)


@dataclass(frozen=True)
class Cases:
    """Corners that run side by side; arrays of shape (cases,), all at the wheel.

    `play_m` is the whole width of the free play in the damper's joints (or of its lost motion), `spring_friction_n`
    the half-width of the spring's own loop; None stands for none anywhere.
    """

    sprung_mass_kg: Array
    unsprung_mass_kg: Array
    wheel_rate_n_m: Array
    tyre_rate_n_m: Array
    curves: WheelCurves
    play_m: Array | None = None
    spring_friction_n: Array | None = None
    stops: Stops | None = None

    @property
    def static_tyre_load_n(self) -> Array:
        return (self.sprung_mass_kg + self.unsprung_mass_kg) * GRAVITY_M_S2


@dataclass(frozen=True)
class Motion:
    """What came out, about the standing position; arrays of shape (points, cases).

    `travel_m` is extension of the suspension; `tyre_force_n` what the road adds to the standing load (never less than
    minus that load: the tyre leaves the ground). Acceleration is the mean over the step that ends at each point.
    """

    step_s: float
    body_m: Array
    acceleration_m_s2: Array
    travel_m: Array
    travel_speed_m_s: Array
    tyre_force_n: Array


def cases_of(
    corner: Corner,
    curves: WheelCurves,
    wheel_rate_n_m: Array | None = None,
    play_m: Array | None = None,
    stops: Stops | None = None,
) -> Cases:
    """One corner for every curve, with wheel rates of their own where given (shape (cases,)); its spring friction too."""
    ones = np.ones(curves.cases)
    rate = corner.wheel_rate_n_m * ones if wheel_rate_n_m is None else wheel_rate_n_m
    return Cases(
        read_only(corner.sprung_mass_kg * ones),
        read_only(corner.unsprung_mass_kg * ones),
        read_only(rate),
        read_only(corner.tyre_rate_n_m * ones),
        curves,
        None if play_m is None or not play_m.any() else read_only(play_m),
        read_only(corner.spring_friction_n * ones) if corner.spring_friction_n > 0 else None,
        stops,
    )


def step_for(cases: Cases) -> float:
    """STEP_S, or less where tyre or stops are so stiff that a push once a step would swing by itself (own; limit is 2)."""
    stops = cases.stops or Stops()
    stiff = max(float(cases.tyre_rate_n_m.max()), stops.compression_n_m, stops.extension_n_m)
    lightest = float(np.minimum(cases.sprung_mass_kg, cases.unsprung_mass_kg).min())
    return min(STEP_S, MOST_TURN / math.sqrt(stiff / lightest))


def run_over(cases: Cases, road_m: Array, step_s: float, pushed_m: float = 0.0) -> Motion:
    """Motion of all cases over a road, at rest before it; `pushed_m` is how far the body is held down and let go.

    `road_m` holds the heights at every half step, shape (2 points + 1,) for one road or (2 points + 1, cases). Symmetric
    splitting: masses, springs and tyre go exactly from step to step (matrix exponential, road a parabola in between);
    at each step the damper, from a table of what it does to the speed in that time, and whatever else is not straight
    act at once. The error falls with the square of the step. Source: own; splitting after Strang (from memory).
    """
    road = np.broadcast_to(road_m.reshape(road_m.shape[0], -1), (road_m.shape[0], cases.curves.cases))
    points = (road.shape[0] - 1) // 2
    exact, gains = _linear(cases, step_s)
    push, part = gains[0] * road[: 2 * points : 2, None], np.empty((points, 4, cases.curves.cases))
    for j in (1, 2):
        push += np.multiply(gains[j], road[j : j + 2 * points : 2, None], out=part)
    road = road[2::2]
    kick = _Kick(cases, road, step_s)
    x = np.zeros((4, cases.curves.cases))  # body, wheel, and their speeds
    x[0] = -pushed_m
    kept, changed = part, np.empty((points, 2, cases.curves.cases))
    for i, (now, pushed, change) in enumerate(zip(kept, push, changed, strict=True)):
        x = np.einsum("ijn,jn->in", exact, x, out=now)
        x += pushed
        kick(x, i, change)
    return _motion(cases, road, kept, changed, step_s)


def _motion(cases: Cases, road: Array, kept: Array, changed: Array, step_s: float) -> Motion:
    """Speeds are taken halfway through what acts at each step, so that they belong to its moment."""
    body, wheel = kept[:, 0], kept[:, 1]
    speeds = kept[:, 2:] - 0.5 * changed
    tyre = np.maximum(cases.tyre_rate_n_m * (road - wheel), -cases.static_tyre_load_n)
    acceleration = np.diff(speeds[:, 0], axis=0, prepend=0.0) / step_s
    made = (body, acceleration, body - wheel, speeds[:, 0] - speeds[:, 1], tyre)
    for values in made:
        values.setflags(write=False)
    return Motion(step_s, *made)


def _linear(cases: Cases, step_s: float) -> tuple[Array, tuple[Array, Array, Array]]:
    """Exact step of the linear corner, (4, 4, cases); what the road at start, middle and end adds, (4, cases) each."""
    n = cases.curves.cases
    ms, mu, k, kt = cases.sprung_mass_kg, cases.unsprung_mass_kg, cases.wheel_rate_n_m, cases.tyre_rate_n_m
    c = held_slope(cases.curves)
    a = np.zeros((n, 7, 7))  # the state, then the road with its first and second derivative
    a[:, 0, 2] = a[:, 1, 3] = a[:, 4, 5] = a[:, 5, 6] = 1.0
    a[:, 2, :4] = (np.array([-k, k, -c, c]) / ms).T
    a[:, 3, :5] = (np.array([k, -(k + kt), c, -c, kt]) / mu).T
    whole = _exponential(a * step_s)
    height, slope, bend = (whole[:, :4, j].T / step_s ** (j - 4) for j in (4, 5, 6))
    return np.ascontiguousarray(whole[:, :4, :4].transpose(1, 2, 0)), (
        height - 3 * slope + 4 * bend,
        4 * slope - 8 * bend,
        4 * bend - slope,
    )


def _exponential(a: Array) -> Array:
    """Matrix exponential of each of a stack of small matrices: halved until small, series, squared back."""
    halvings = max(0, math.ceil(math.log2(max(1e-12, float(np.abs(a).sum(axis=-1).max())))) + 1)
    part = a / 2**halvings
    total = term = np.broadcast_to(np.eye(a.shape[-1]), a.shape)
    for order in range(1, SERIES_TERMS + 1):
        term = term @ part / order
        total = total + term
    for _ in range(halvings):
        total = total @ total
    return np.asarray(total)


class _Kick:
    """All that is not straight, acting on the speeds at once: damper and friction, wheel off the ground, stops."""

    def __init__(self, cases: Cases, road: Array, step_s: float) -> None:
        n = cases.curves.cases
        per_body, per_wheel = 1 / cases.sprung_mass_kg, 1 / cases.unsprung_mass_kg
        per_mass, held = per_body + per_wheel, held_slope(cases.curves)
        rubbed = cases.curves
        if cases.spring_friction_n is not None:
            rubbed = rubbed.with_friction(cases.spring_friction_n)
        self._change = looker(speed_change(rubbed, per_mass, held, step_s))
        self._share = np.stack([per_body, -per_wheel]) / per_mass
        self._ceiling = road + cases.static_tyre_load_n / cases.tyre_rate_n_m  # of the wheel before it lifts
        self._lowest: list[float] = self._ceiling.min(axis=1).tolist()
        self._lift = step_s * cases.tyre_rate_n_m * per_wheel
        self._stops, self._stop_share = cases.stops, step_s * np.stack([per_body, -per_wheel])
        self._speed, self._du, self._above = np.empty(n), np.empty(n), np.empty(n)
        self._play = None
        if cases.play_m is not None:
            free = WheelCurves(np.zeros_like(cases.curves.force_n))
            if cases.spring_friction_n is not None:
                free = free.with_friction(cases.spring_friction_n)
            self._play = _Play(0.5 * cases.play_m, looker(speed_change(free, per_mass, held, step_s)))

    def __call__(self, x: Array, i: int, changed: Array) -> None:
        """Change the speeds in x, shape (4, cases), at step i, and write by how much, shape (2, cases)."""
        speed, du, above = self._speed, self._du, self._above
        np.subtract(x[2], x[3], out=speed)
        self._change(speed, du)
        if self._play is not None:
            self._play.let_go(x[0] - x[1], speed, du)
        np.multiply(du, self._share, out=changed)
        wheel = x[1]
        if np.maximum.reduce(wheel) > self._lowest[i]:
            np.subtract(wheel, self._ceiling[i], out=above)
            changed[1] += np.maximum(above, 0.0) * self._lift
        if self._stops is not None:
            changed += self._stops.force_n(x[0] - x[1]) * self._stop_share
        x[2:] += changed


class _Play:
    """The damper's loose end sits somewhere within the play; nothing but friction acts while it is between its sides."""

    def __init__(self, half_gap: Array, free_change: Callable[[Array, Array], None]) -> None:
        self._half_gap, self._free = half_gap, free_change
        self._seat, self._du = np.zeros(half_gap.size), np.empty(half_gap.size)

    def let_go(self, travel: Array, speed: Array, du: Array) -> None:
        """Overwrite the change of speed where the play is not taken up; carries the loose end along."""
        self._free(speed, self._du)
        held = np.sign(speed) * (travel - self._seat) >= self._half_gap - TOUCH_M
        np.copyto(du, self._du, where=~held)
        np.clip(self._seat, travel - self._half_gap, travel + self._half_gap, out=self._seat)


def half_step_times(seconds: float, step_s: float) -> Array:
    """Times at which `run_over` wants the road, shape (2 points + 1,)."""
    points = math.ceil(seconds / step_s - 1e-9)
    return np.linspace(0.0, points * step_s, 2 * points + 1)
