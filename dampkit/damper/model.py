"""Measured force as a sum: gas, friction, moving mass, channel delay, and a valve behind a series spring."""

from __future__ import annotations

from dataclasses import field, replace

import numpy as np

from dampkit.damper.points import Points
from dampkit.damper.valve import PARAMETERS, Valve
from dampkit.frozen import frozen
from dampkit.quantities import Array, Index, Mask

SHARP_M_S = 1e-3  # smoothing speed of friction where none is given
SIDES = (("rebound", 1.0), ("compression", -1.0))


@frozen
class Model:
    """Which parameters are free, in order; the rest stand at `fixed` or at nothing.

    F = -gas_n + gas_n_m x + gas_n_m2 x^2 + friction_n tanh(v / friction_speed_m_s) + mass_kg a
        + sign(v) valve(|v - compliance dF/dt|)
    The motion x, v, a is that of `delay_s` before the reading, to second order. dF/dt is the measured one.
    The valve and the compliance [m/N] have one set a direction ("rebound.bleed", "compression.compliance", ...).
    Source: own; parts as in [dixon2007] ch. 7 to 9.
    """

    free: tuple[str, ...]
    fixed: dict[str, float] = field(default_factory=dict)

    def values(self, p: Array) -> dict[str, float]:
        """By name; of several sets (S, K) each a column (S, 1)."""
        columns = p.tolist() if p.ndim == 1 else p.T[:, :, None]
        return {**self.fixed, **dict(zip(self.free, columns, strict=True))}

    def valve(self, p: Array, direction: str) -> Valve:
        values = self.values(p)
        return Valve(**{name: values[f"{direction}.{name}"] for name in PARAMETERS if f"{direction}.{name}" in values})

    def force(self, p: Array, points: Points) -> Array:
        """Modelled bench reading at each point, shape (N,); of several sets of parameters (S, K) at once, (S, N)."""
        return Prediction(self, points).force(p)

    def jacobian(self, p: Array, points: Points) -> Array:
        """d force / d free parameters, shape (N, K): exact, the valve's by implicit differentiation of v(F) = v."""
        return Prediction(self, points).jacobian(p)


@frozen
class _Side:
    """One direction's points: their rows, the force's rate positive in this direction, and its parameters."""

    direction: str
    sign: float
    rows: Index
    force_rate_n_s: Array
    mine: Mask  # of the free parameters, those of this direction


@frozen
class _Solved:
    """The valves solved at parameters `p`: the points as the delay has them, and by direction speed and root there.

    `jacobian`: of the measured force, where it was asked for.
    """

    p: Array
    points: Points
    speed_m_s: tuple[Array, ...]
    root: tuple[Array, ...]
    jacobian: Array | None = None


class Prediction:
    """A model on one set of points. The valves' roots are kept: force and Jacobian share them, the next begins at them."""

    def __init__(self, model: Model, points: Points) -> None:
        self.model, self.points = model, points
        self._sides = [
            _Side(
                direction,
                sign,
                rows,
                sign * points.force_rate_n_s[rows],
                np.array([name.startswith(direction) for name in model.free]),
            )
            for direction, sign in SIDES
            if f"{direction}.bleed" in model.free or f"{direction}.bleed" in model.fixed
            for rows in [np.flatnonzero(points.velocity_m_s * sign > 0)]
        ]
        self._last: _Solved | None = None

    def force(self, p: Array) -> Array:
        """Modelled bench reading at each point, shape (N,); of several sets of parameters (S, K) at once, (S, N)."""
        v = self.model.values(p)
        solved = self._solve(p, v)
        x = solved.points.displacement_m
        total = np.zeros((*p.shape[:-1], x.size))
        total += v.get("friction_n", 0.0) * np.tanh(solved.points.velocity_m_s / v.get("friction_speed_m_s", SHARP_M_S))
        total += (v.get("gas_n_m2", 0.0) * x + v.get("gas_n_m", 0.0)) * x - v.get("gas_n", 0.0)
        total += v.get("mass_kg", 0.0) * solved.points.acceleration_m_s2
        for side, speed, root in zip(self._sides, solved.speed_m_s, solved.root, strict=True):
            loss = v.get(f"{side.direction}.loss", 0.0)
            total[..., side.rows] += side.sign * (root * root + loss * speed * speed)
        return total

    def jacobian(self, p: Array) -> Array:
        """d force / d free parameters, shape (N, K)."""
        values = self.model.values(p)
        rows_by_name = np.zeros((len(self.model.free), self.points.force_n.size))
        columns = dict(zip(self.model.free, rows_by_name, strict=True))
        solved = self._last if self._last is not None and np.array_equal(self._last.p, p) else self._solve(p, values)
        by_speed = np.zeros(self.points.force_n.size)
        for side, speed, root in zip(self._sides, solved.speed_m_s, solved.root, strict=True):
            _, stiffness, gradient = self.model.valve(p, side.direction).solve(speed, root)
            for i, name in enumerate(PARAMETERS):
                if f"{side.direction}.{name}" in columns:
                    columns[f"{side.direction}.{name}"][side.rows] = side.sign * gradient[:, i]
            if f"{side.direction}.compliance" in columns:
                columns[f"{side.direction}.compliance"][side.rows] = -side.sign * stiffness * side.force_rate_n_s
            by_speed[side.rows] = stiffness
        for name in self.model.free:
            if "." not in name:
                columns[name][:] = self._common_column(name, values, solved.points, by_speed)
        self._last = replace(solved, jacobian=rows_by_name.T)
        return rows_by_name.T

    def _solve(self, p: Array, values: dict[str, float]) -> _Solved:
        points = self.points.earlier(values.get("delay_s", 0.0))
        speeds = tuple(
            np.maximum(
                side.sign * points.velocity_m_s[side.rows]
                - values.get(f"{side.direction}.compliance", 0.0) * side.force_rate_n_s,
                0.0,
            )
            for side in self._sides
        )
        roots = tuple(
            self.model.valve(p, side.direction).root(speed, self._guess(p, i))
            for i, (side, speed) in enumerate(zip(self._sides, speeds, strict=True))
        )
        self._last = _Solved(p.copy(), points, speeds, roots)
        return self._last

    def _guess(self, p: Array, i: int) -> Array | None:
        """Roots of a side to begin at: the last ones, moved along the Jacobian where there is one."""
        last, side = self._last, self._sides[i]
        if last is None:
            return None
        root = last.root[i]
        if last.jacobian is None:
            return root
        change = side.sign * (last.jacobian @ np.where(side.mine, p - last.p, 0.0))[side.rows]
        return np.sqrt(np.maximum(root * root + change, 0.25 * root * root))

    def _common_column(self, name: str, v: dict[str, float], points: Points, by_speed: Array) -> Array:
        """d force / d what both directions share; `by_speed` is the valves' part of d force / d velocity."""
        x, speed, scale = points.displacement_m, points.velocity_m_s, v.get("friction_speed_m_s", SHARP_M_S)
        if name in ("gas_n", "gas_n_m", "gas_n_m2"):
            return {"gas_n": -np.ones(x.size), "gas_n_m": x, "gas_n_m2": x * x}[name]
        if name == "mass_kg":
            return points.acceleration_m_s2
        bend = np.tanh(speed / scale)
        by_friction = v.get("friction_n", 0.0) * (1 - bend**2) / scale
        if name == "friction_n":
            return bend
        if name == "friction_speed_m_s":
            return -by_friction * speed / scale
        # delay: what each part answers to its own motion, times how the motion of `delay_s` before moves with the delay
        by_place = v.get("gas_n_m", 0.0) + 2 * v.get("gas_n_m2", 0.0) * x
        return -(
            by_place * speed
            + (by_friction + by_speed) * points.acceleration_m_s2
            + v.get("mass_kg", 0.0) * points.jerk_m_s3
        )
