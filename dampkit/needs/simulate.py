"""The two-mass corner with a damper as it is, over a road, for many cases at once."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from dampkit.needs.corner import GRAVITY_M_S2, Corner
from dampkit.needs.wheel_curve import WheelCurves
from dampkit.quantities import Array, read_only

STEP_S = 0.002
STABLE = 2.0  # fourth-order Runge-Kutta is stable to 2.78 over the fastest rate on the real axis; own margin


@dataclass(frozen=True)
class Cases:
    """Corners that run side by side; arrays of shape (cases,), all at the wheel."""

    sprung_mass_kg: Array
    unsprung_mass_kg: Array
    wheel_rate_n_m: Array
    tyre_rate_n_m: Array
    curves: WheelCurves

    @property
    def static_tyre_load_n(self) -> Array:
        return (self.sprung_mass_kg + self.unsprung_mass_kg) * GRAVITY_M_S2

    @property
    def safe_step_s(self) -> float:
        """The largest step that stays stable: STEP_S or less where friction or damping is steep."""
        fastest = self.curves.steepest_n_s_m / float(self.unsprung_mass_kg.min())
        return min(STEP_S, STABLE / fastest) if fastest > 0 else STEP_S


@dataclass(frozen=True)
class Motion:
    """What came out, about the standing position; arrays of shape (points, cases).

    `travel_m` is extension of the suspension; `tyre_force_n` what the road adds to the standing load (never
    less than minus that load: the tyre leaves the ground).
    """

    step_s: float
    body_m: Array
    acceleration_m_s2: Array
    travel_m: Array
    travel_speed_m_s: Array
    tyre_force_n: Array


def cases_of(corner: Corner, curves: WheelCurves, wheel_rate_n_m: Array | None = None) -> Cases:
    """One corner for every curve, with wheel rates of their own where given (shape (cases,))."""
    ones = np.ones(curves.cases)
    rate = corner.wheel_rate_n_m * ones if wheel_rate_n_m is None else wheel_rate_n_m
    masses = (read_only(corner.sprung_mass_kg * ones), read_only(corner.unsprung_mass_kg * ones))
    return Cases(*masses, read_only(rate), read_only(corner.tyre_rate_n_m * ones), curves)


def run_over(cases: Cases, road_m: Array, step_s: float) -> Motion:
    """Motion of all cases over one road, from rest.

    `road_m` holds the heights at every half step, shape (2 points + 1,). Classical fourth-order Runge-Kutta with a
    fixed step; its error falls with the fourth power of the step where the force law is smooth, slower at kinks.
    """
    points = (road_m.size - 1) // 2
    state = np.zeros((4, cases.curves.cases))  # body, wheel, and their speeds
    kept = np.empty((points, 5, cases.curves.cases))
    rate = _Rate(cases)
    h = step_s
    for i in range(points):
        k1, forces = rate(state, road_m[2 * i])
        kept[i] = (state[0], forces[0], state[0] - state[1], state[2] - state[3], forces[1])
        k2, _ = rate(state + 0.5 * h * k1, road_m[2 * i + 1])
        k3, _ = rate(state + 0.5 * h * k2, road_m[2 * i + 1])
        k4, _ = rate(state + h * k3, road_m[2 * i + 2])
        state = state + h / 6 * (k1 + 2 * (k2 + k3) + k4)
    return Motion(step_s, *(read_only(kept[:, j]) for j in range(5)))


class _Rate:
    """Time derivative of the state; also (body acceleration, tyre force)."""

    def __init__(self, cases: Cases) -> None:
        self.spring, self.tyre, self.curves = cases.wheel_rate_n_m, cases.tyre_rate_n_m, cases.curves
        self.per_body, self.per_wheel = 1 / cases.sprung_mass_kg, 1 / cases.unsprung_mass_kg
        self.least = -cases.static_tyre_load_n

    def __call__(self, state: Array, road_m: float) -> tuple[Array, tuple[Array, Array]]:
        body, wheel, body_speed, wheel_speed = state
        up = self.spring * (wheel - body) - self.curves.at(body_speed - wheel_speed)
        tyre = np.maximum(self.tyre * (road_m - wheel), self.least)
        acceleration = up * self.per_body
        rate = np.stack([body_speed, wheel_speed, acceleration, (tyre - up) * self.per_wheel])
        return rate, (acceleration, tyre)


def half_step_times(seconds: float, step_s: float) -> Array:
    """Times at which `run_over` wants the road, shape (2 points + 1,)."""
    points = math.ceil(seconds / step_s - 1e-9)
    return np.linspace(0.0, points * step_s, 2 * points + 1)
