"""The two-mass corner with a damper as it is, over a road, for many cases at once."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence

import numpy as np

from dampkit.frozen import frozen
from dampkit.needs.corner import Corner
from dampkit.needs.kick import held_slope, looker, speed_change
from dampkit.needs.wheel_curve import WheelCurves
from dampkit.quantities import GRAVITY_M_S2, Array, Index, read_only

STEP_S = 0.0025
SERIES_TERMS = 14  # of a matrix exponential, argument at most 1/2: the rest is below rounding
MOST_TURN = 1.0  # rad that the stiffest rate may turn the lightest mass in a step; own choice
TOUCH_M = 1e-9  # play counts as taken up within this
# Rows of what goes into a step: state, speed that the damper took, height of the wheel over its ground, road at 3 places
TRAVEL, WHEEL, SPEED, WHEEL_SPEED, TAKEN, ABOVE, ROAD, INPUTS = 0, 1, 2, 3, 4, 5, 6, 9


@frozen
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


@frozen
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


@frozen
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
    """STEP_S, or less where tyre or stops are so stiff that a push once a step would swing by itself (own; limit is 2).

    A second has a whole number of steps.
    """
    stops = cases.stops or Stops()
    stiff = max(float(cases.tyre_rate_n_m.max()), stops.compression_n_m, stops.extension_n_m)
    lightest = float(np.minimum(cases.sprung_mass_kg, cases.unsprung_mass_kg).min())
    return 1 / math.ceil(1 / min(STEP_S, MOST_TURN / math.sqrt(stiff / lightest)) - 1e-9)


@frozen
class Drive:
    """What runs side by side: of each column its case, its road at every half step and its state at the start.

    `case` has shape (columns,), `road_m` (2 points + 1, columns), `start` (4, columns): travel, wheel and their speeds.
    Of the motion the last `seen` points are kept. `mend`, where there is one, may change the states at any point.
    """

    case: Index
    road_m: Array
    start: Array
    seen: int
    mend: Callable[[int, Array], None] | None = None

    @property
    def points(self) -> int:
        return int(self.road_m.shape[0] // 2)


def side_by_side(drives: Sequence[Drive]) -> Drive:
    """Drives of the same length as one; the most that any wants to see is kept of all."""
    return Drive(
        np.concatenate([one.case for one in drives]),
        np.concatenate([one.road_m for one in drives], axis=1),
        np.concatenate([one.start for one in drives], axis=1),
        max(one.seen for one in drives),
    )


def drive_over(road_m: Array, case: Index, pushed_m: float = 0.0) -> Drive:
    """One road for all, shape (2 points + 1,), at rest before it; the body held down by `pushed_m` and let go."""
    start = np.zeros((4, case.size))
    start[TRAVEL] = -pushed_m
    return Drive(case, np.broadcast_to(road_m[:, None], (road_m.size, case.size)), start, road_m.size // 2)


def run(cases: Cases, drives: Sequence[Drive], step_s: float) -> list[Motion]:
    """Every column of drives of the same length in one loop; the motion of each drive.

    Symmetric splitting: masses, springs and tyre go exactly from step to step (matrix exponential, road a parabola in
    between); at each step the damper, from a table of what it does to the speed in that time, and whatever else is not
    straight act at once. The error falls with the square of the step. Source: own; splitting after Strang (from memory).
    """
    whole = side_by_side(drives) if len(drives) > 1 else drives[0]
    exact, points = np.ascontiguousarray(_exact_step(cases, step_s)[:, :, whole.case]), whole.points
    inputs, state = np.zeros((INPUTS, whole.case.size)), np.empty_like(whole.start)
    before, road = inputs[:TAKEN], inputs[ROAD:]
    before[:] = whole.start
    kick = _Kick(cases, whole, inputs, step_s)
    parts = np.split(inputs[:ROAD], np.cumsum([one.case.size for one in drives])[:-1], axis=1)
    kept = [np.empty((one.seen + 1, *part.shape)) for one, part in zip(drives, parts, strict=True)]
    todo = [(points - one.seen, store, part) for one, store, part in zip(drives, kept, parts, strict=True)]
    mend = [(one.mend, part[:TAKEN]) for one, part in zip(drives, parts, strict=True) if one.mend is not None]
    for i in range(points + 1):
        for change, part in mend:
            change(i, part)
        for first, store, part in todo:
            if i >= first:
                store[i - first] = part
        if i < points:
            road[:] = whole.road_m[2 * i : 2 * i + 3]
            np.einsum("ijn,jn->in", exact, inputs, out=state)
            before[:] = state
            kick(i)
    return [_motion(cases, one, store, step_s) for one, store in zip(drives, kept, strict=True)]


def _motion(cases: Cases, drive: Drive, kept: Array, step_s: float) -> Motion:
    """What was kept of a drive: state and what acted at once, shape (points + 1, ROAD, columns).

    Speeds are taken halfway through what acts at each step, so that they belong to its moment.
    """
    case, road = drive.case, drive.road_m[2::2][-drive.seen :]
    travel, wheel = kept[1:, TRAVEL], kept[1:, WHEEL]
    taken = 0.5 * kept[:, TAKEN]
    body_speed = kept[:, SPEED] + kept[:, WHEEL_SPEED] + (1 - _wheel_share(cases)[case]) * taken
    fallen = 0.5 * (step_s * cases.tyre_rate_n_m / cases.unsprung_mass_kg)[case] * kept[1:, ABOVE]
    tyre = cases.tyre_rate_n_m[case] * (road - wheel)
    np.maximum(tyre, -cases.static_tyre_load_n[case], out=tyre)
    acceleration = np.diff(body_speed, axis=0) / step_s
    made = (travel + wheel, acceleration, travel.copy(), kept[1:, SPEED] + taken[1:] - fallen, tyre)
    for values in made:
        values.setflags(write=False)
    return Motion(step_s, *made)


def _wheel_share(cases: Cases) -> Array:
    """What the wheel takes of a change of the speed between the masses, shape (cases,); the body takes the rest."""
    return cases.sprung_mass_kg / (cases.sprung_mass_kg + cases.unsprung_mass_kg)


def straight_corner(cases: Cases, case: Index, damping_n_s_m: Array, tyre_n_m: Array) -> Array:
    """Rates of the state by state and road, shape (N, 4, 5), for N cases with a plain damping coefficient and tyre rate each."""
    ms, mu, k = (values[case] for values in (cases.sprung_mass_kg, cases.unsprung_mass_kg, cases.wheel_rate_n_m))
    c, kt, none = damping_n_s_m, tyre_n_m, np.zeros(case.size)
    a = np.zeros((case.size, 4, 5))
    a[:, TRAVEL, SPEED] = a[:, WHEEL, WHEEL_SPEED] = 1.0
    a[:, WHEEL_SPEED] = (np.array([k, -kt, c, none, kt]) / mu).T
    a[:, SPEED] = -(np.array([k, none, c, none, none]) / ms).T - a[:, WHEEL_SPEED]
    return a


def _exact_step(cases: Cases, step_s: float) -> Array:
    """What the INPUTS of one step make of the state at the next, shape (4, INPUTS, cases)."""
    kt, mu = cases.tyre_rate_n_m, cases.unsprung_mass_kg
    a = np.zeros((cases.curves.cases, 7, 7))  # the state, then the road with its first and second derivative
    a[:, :4, :5] = straight_corner(cases, np.arange(cases.curves.cases), held_slope(cases.curves), kt)
    a[:, 4, 5] = a[:, 5, 6] = 1.0
    whole = exponential(a * step_s)[:, :4].transpose(1, 2, 0)
    height, slope, bend = (whole[:, j] / step_s ** (j - 4) for j in (4, 5, 6))
    taken = whole[:, SPEED] - _wheel_share(cases) * whole[:, WHEEL_SPEED]
    fallen = step_s * kt / mu * (whole[:, WHEEL_SPEED] - whole[:, SPEED])
    road = (height - 3 * slope + 4 * bend, 4 * slope - 8 * bend, 4 * bend - slope)
    return np.stack([*whole[:, :4].swapaxes(0, 1), taken, fallen, *road], axis=1)


def exponential(a: Array) -> Array:
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

    def __init__(self, cases: Cases, drive: Drive, inputs: Array, step_s: float) -> None:
        case = drive.case
        self._travel, self._wheel, self._speed, _, self._taken, self._above = inputs[:ROAD]
        per_mass, held = 1 / cases.sprung_mass_kg + 1 / cases.unsprung_mass_kg, held_slope(cases.curves)
        rubbed = cases.curves
        if cases.spring_friction_n is not None:
            rubbed = rubbed.with_friction(cases.spring_friction_n)
        self._change = looker(speed_change(rubbed, per_mass, held, step_s), case)
        self._road, self._lifts = drive.road_m[2::2], (cases.static_tyre_load_n / cases.tyre_rate_n_m)[case]
        self._stops, self._stopped = cases.stops, (step_s * per_mass)[case]
        self._ground, self._play = np.zeros(case.size), None
        if cases.play_m is not None:
            free = WheelCurves(np.zeros_like(cases.curves.force_n))
            if cases.spring_friction_n is not None:
                free = free.with_friction(cases.spring_friction_n)
            self._play = _Play(0.5 * cases.play_m[case], looker(speed_change(free, per_mass, held, step_s), case))

    def __call__(self, i: int) -> None:
        """Write what acts at the end of step i into the inputs of the next."""
        taken, above = self._taken, self._above
        self._change(self._speed, taken)
        if self._play is not None:
            self._play.let_go(self._travel, self._speed, taken)
        if self._stops is not None:
            taken += self._stops.force_n(self._travel) * self._stopped
        np.subtract(self._wheel, self._road[i], above)
        np.subtract(above, self._lifts, above)
        np.maximum(above, self._ground, out=above)


class _Play:
    """The damper's loose end sits somewhere within the play; nothing but friction acts while it is between its sides."""

    def __init__(self, half_gap: Array, free_change: Callable[[Array, Array], None]) -> None:
        self._half_gap, self._other_side, self._short = half_gap, -half_gap, half_gap - TOUCH_M
        self._free, self._seat = free_change, np.zeros(half_gap.size)
        self._taken, self._away = np.empty(half_gap.size), np.empty(half_gap.size)

    def let_go(self, travel: Array, speed: Array, taken: Array) -> None:
        """Overwrite what is taken where the play is not taken up; carries the loose end along."""
        away, free = self._away, self._taken
        self._free(speed, free)
        np.subtract(travel, self._seat, away)
        np.copyto(taken, free, where=np.sign(speed) * away < self._short)
        np.minimum(away, self._half_gap, out=away)
        np.maximum(away, self._other_side, out=away)
        np.subtract(travel, away, self._seat)


def half_step_times(seconds: float, step_s: float) -> Array:
    """Times at which `drive_over` wants the road, shape (2 points + 1,)."""
    points = math.ceil(seconds / step_s - 1e-9)
    return np.linspace(0.0, points * step_s, 2 * points + 1)
