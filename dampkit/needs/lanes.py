"""A periodic road as lanes: pieces of it run side by side, each after the piece of road before it."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from dampkit.needs.road import Road, random_road_m, roughness_m3
from dampkit.needs.simulate import TRAVEL, WHEEL, Cases, Drive, exponential, straight_corner
from dampkit.quantities import Array, Index

LANES = 8
LANE_S = 1.0
WARM_S = 2.0  # of road before each lane, in which what the straight corner at its start has wrong dies out
TOP_HZ = 30.0  # of the straight corner's motion at the start; the wheel moves little above
TRUST = 0.3  # of a ride's own size, up to which the straight corner may be off; own choice
ROUNDS, FIRST_M_S = 6, 0.3  # of the search for the size of the motion, and the speed that it starts from
NODES, SHARES = np.polynomial.hermite_e.hermegauss(24)  # normally distributed speeds and how often each is met
SHARES = SHARES / SHARES.sum()


def lanes_over(cases: Cases, roads: Sequence[Road], case: Index, step_s: float) -> Drive:
    """Case `case[i]` on `roads[i]`, LANES columns each, one after another in time, of a period LANES x LANE_S."""
    lane, warm = round(LANE_S / step_s), round(WARM_S / step_s)
    first = 2 * (lane * np.arange(LANES) - warm)
    periods = {one: _period(one, LANES * lane, step_s) for one in dict.fromkeys(roads)}
    place = (first + np.arange(2 * (lane + warm) + 1)[:, None]) % (2 * LANES * lane)
    pieces = {one: heights[place] for one, heights in periods.items()}
    start, c, rate = _starts(cases, np.stack([periods[one] for one in roads]), case, step_s, first)
    road_m = np.concatenate([pieces[one] for one in roads], axis=1)
    mend = _HandOn(start, exponential(LANE_S * straight_corner(cases, case, c, rate)[:, :, :4]), lane)
    return Drive(np.repeat(case, LANES), road_m, start.reshape(4, -1), lane, mend)


class _HandOn:
    """Every LANE_S each lane is where the next was LANE_S ago: by what it is off there the next is put right.

    The straight corner says what has become of it, of rides that do not stray far from it: a wheel that leaves the
    ground or hits its stops goes its own way. Source: own; as in solvers parallel in time (from memory).
    """

    def __init__(self, start: Array, carried: Array, lane: int) -> None:
        self._known, self._carried, self._lane = start, carried, lane  # (4, rides, LANES) and (rides, 4, 4)

    def __call__(self, i: int, state: Array) -> None:
        if i == 0 or i % self._lane:
            return
        here = state.reshape(self._known.shape)
        off = np.roll(here, 1, axis=2) - self._known
        strayed = (_rms(off) / _rms(here)).max(axis=0)
        self._known = here + np.where(strayed < TRUST, 1.0, 0.0)[:, None] * np.einsum(
            "rij,jrl->irl", self._carried, off
        )
        state[:] = self._known.reshape(state.shape)


def one_after_another(values: Array) -> Array:
    """The period of each ride from what its lanes saw: shape (points, rides x LANES) to (LANES x points, rides)."""
    points = values.shape[0]
    return values.reshape(points, -1, LANES).transpose(2, 0, 1).reshape(LANES * points, -1)


def _rms(state: Array) -> Array:
    """Over the lanes, shape (4, rides)."""
    return np.asarray(np.sqrt((state**2).mean(axis=2)))


def _period(road: Road, points: int, step_s: float) -> Array:
    """At every half step of it."""
    return random_road_m(2 * points, 0.5 * step_s, roughness_m3(road.road_class), road.speed_m_s, road.seed)


def _starts(cases: Cases, heights: Array, case: Index, step_s: float, first: Index) -> tuple[Array, Array, Array]:
    """Steady state of the straight corner at each of the half steps `first`, shape (4, rides, firsts).

    Given back too: its damping coefficient, which takes the work of the curve at normally distributed speeds of the
    size that it leaves, and its tyre rate, likewise, as the tyre does not pull; the mean forces of both shift its place.
    Source: own; statistical linearisation (from memory).
    """
    period_s = 0.5 * step_s * heights.shape[1]
    waves = np.arange(1, int(TOP_HZ * period_s) + 1)
    size = 2 / heights.shape[1] * np.fft.rfft(heights, axis=1)[:, waves]
    s = 2j * np.pi / period_s * waves
    rubbed = cases.curves
    if cases.spring_friction_n is not None:
        rubbed = rubbed.with_friction(cases.spring_friction_n)
    curves, spread = rubbed.of(case), np.full(case.size, FIRST_M_S)
    kt, load = cases.tyre_rate_n_m[case], cases.static_tyre_load_n[case]
    rate, squeeze = kt, np.zeros(case.size)
    for _ in range(ROUNDS):
        force = curves.over(spread[:, None] * NODES)
        c = (force * NODES) @ SHARES / spread
        travel, wheel = _response(cases, case, c, rate, s)
        spread = _spread(s * travel * size)
        squeezed = _spread((1 - wheel) * size)
        tyre = np.maximum(kt[:, None] * (squeezed[:, None] * NODES + squeeze[:, None]), -load[:, None])
        rate = (tyre * NODES) @ SHARES / squeezed
        squeeze = squeeze - tyre @ SHARES / rate
    shape = np.stack([travel, wheel, s * travel, s * wheel]) * size
    start = np.asarray((shape @ np.exp(np.outer(s, 0.5 * step_s * first))).real)
    start[TRAVEL] -= (force @ SHARES / cases.wheel_rate_n_m[case])[:, None]
    start[WHEEL] -= squeeze[:, None]
    return start, c, rate


def _spread(waves: Array) -> Array:
    return np.asarray(np.sqrt(0.5 * (np.abs(waves) ** 2).sum(axis=1)))


def _response(cases: Cases, case: Index, c: Array, tyre_n_m: Array, s: Array) -> tuple[Array, Array]:
    """Travel and wheel for a unit of road at complex frequencies s, shape (rides, waves) each."""
    ms, mu, k = (
        values[case][:, None] for values in (cases.sprung_mass_kg, cases.unsprung_mass_kg, cases.wheel_rate_n_m)
    )
    link = k + c[:, None] * s
    body = link / (link + ms * s**2)  # over the wheel
    kt = tyre_n_m[:, None]
    wheel = kt / (kt + mu * s**2 + ms * s**2 * body)
    return (body - 1) * wheel, wheel
