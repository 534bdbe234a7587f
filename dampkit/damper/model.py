"""Measured force as a sum: gas, friction, moving mass, channel delay, and a valve behind a series spring."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field, replace

import numpy as np

from dampkit.damper.points import Points
from dampkit.damper.valve import PARAMETERS, Valve
from dampkit.quantities import Array, Index, Mask

SIDES = (("rebound", 1.0), ("compression", -1.0))
_COMMON: dict[str, Callable[[Points], Array]] = {
    "gas_n_m": lambda points: points.displacement_m,
    "gas_n_m2": lambda points: points.displacement_m**2,
    "mass_kg": lambda points: points.acceleration_m_s2,
    "delay_s": lambda points: -points.force_rate_n_s,
}  # what the force answers to in proportion: d force / d parameter


@dataclass(frozen=True)
class Model:
    """Which parameters are free, in order; the rest stand at `fixed` or at nothing.

    F = -gas_n + gas_n_m x + gas_n_m2 x^2 + friction_n tanh(v / friction_speed_m_s) + mass_kg a - delay_s dF/dt
        + sign(v) valve(|v - compliance dF/dt|)
    The valve and the compliance [m/N] have one set a direction ("rebound.bleed", "compression.compliance", ...).
    dF/dt is the measured one: exact to first order in delay and compliance.
    Source: own; parts as in [dixon2007] ch. 7 to 9.
    """

    free: tuple[str, ...]
    fixed: dict[str, float] = field(default_factory=dict)

    def values(self, p: Array) -> dict[str, float]:
        return {**self.fixed, **{name: float(x) for name, x in zip(self.free, p, strict=True)}}

    def valve(self, p: Array, direction: str) -> Valve:
        values = self.values(p)
        return Valve(**{name: values[f"{direction}.{name}"] for name in PARAMETERS if f"{direction}.{name}" in values})

    def force(self, p: Array, points: Points) -> Array:
        """Modelled bench reading at each point, shape (N,)."""
        return Prediction(self, points).force(p)

    def jacobian(self, p: Array, points: Points) -> Array:
        """d force / d free parameters, shape (N, K): exact, the valve's by implicit differentiation of v(F) = v."""
        return Prediction(self, points).jacobian(p)


@dataclass(frozen=True)
class _Side:
    """One direction's points: their rows, speed and force rate positive in this direction; and its parameters."""

    direction: str
    sign: float
    rows: Index
    speed_m_s: Array
    force_rate_n_s: Array
    mine: Mask  # of the free parameters, those of this direction


@dataclass(frozen=True)
class _Solved:
    """The valves solved at parameters `p`: by direction the speed through the valve and the root there.

    `jacobian`: of the measured force, where it was asked for.
    """

    p: Array
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
                sign * points.velocity_m_s[rows],
                sign * points.force_rate_n_s[rows],
                np.array([name.startswith(direction) for name in model.free]),
            )
            for direction, sign in SIDES
            if f"{direction}.bleed" in model.free or f"{direction}.bleed" in model.fixed
            for rows in [np.flatnonzero(points.velocity_m_s * sign > 0)]
        ]
        self._last: _Solved | None = None

    def force(self, p: Array) -> Array:
        """Modelled bench reading at each point, shape (N,)."""
        v, points = self.model.values(p), self.points
        total = v.get("friction_n", 0.0) * np.tanh(points.velocity_m_s / v.get("friction_speed_m_s", 1e-3))
        total -= v.get("gas_n", 0.0)
        for name, of in _COMMON.items():
            if v.get(name, 0.0):
                total += v[name] * of(points)
        solved = self._solve(p, v)
        for side, speed, root in zip(self._sides, solved.speed_m_s, solved.root, strict=True):
            loss = v.get(f"{side.direction}.loss", 0.0)
            total[side.rows] += side.sign * (root * root + loss * speed * speed)
        return np.asarray(total)

    def jacobian(self, p: Array) -> Array:
        """d force / d free parameters, shape (N, K)."""
        values = self.model.values(p)
        rows_by_name = np.zeros((len(self.model.free), self.points.force_n.size))
        columns = dict(zip(self.model.free, rows_by_name, strict=True))
        for name in self.model.free:
            if "." not in name:
                columns[name][:] = self._common_column(name, values)
        solved = self._last if self._last is not None and np.array_equal(self._last.p, p) else self._solve(p, values)
        for side, speed, root in zip(self._sides, solved.speed_m_s, solved.root, strict=True):
            _, stiffness, gradient = self.model.valve(p, side.direction).solve(speed, root)
            for i, name in enumerate(PARAMETERS):
                if f"{side.direction}.{name}" in columns:
                    columns[f"{side.direction}.{name}"][side.rows] = side.sign * gradient[:, i]
            if f"{side.direction}.compliance" in columns:
                columns[f"{side.direction}.compliance"][side.rows] = -side.sign * stiffness * side.force_rate_n_s
        self._last = replace(solved, jacobian=rows_by_name.T)
        return rows_by_name.T

    def _solve(self, p: Array, values: dict[str, float]) -> _Solved:
        speeds = tuple(
            np.maximum(side.speed_m_s - values.get(f"{side.direction}.compliance", 0.0) * side.force_rate_n_s, 0.0)
            for side in self._sides
        )
        roots = tuple(
            self.model.valve(p, side.direction).root(speed, self._guess(p, i))
            for i, (side, speed) in enumerate(zip(self._sides, speeds, strict=True))
        )
        self._last = _Solved(p.copy(), speeds, roots, None)
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

    def _common_column(self, name: str, values: dict[str, float]) -> Array:
        if name in _COMMON:
            return _COMMON[name](self.points)
        if name == "gas_n":
            return -np.ones(self.points.force_n.size)
        speed, scale = self.points.velocity_m_s, values.get("friction_speed_m_s", 1e-3)
        bend = np.tanh(speed / scale)
        return bend if name == "friction_n" else -values.get("friction_n", 0.0) * (1 - bend**2) * speed / scale**2
