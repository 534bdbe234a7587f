"""Measured force as a sum: gas, friction, moving mass, channel delay, and a valve behind a series spring."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from dampkit.damper.points import Points
from dampkit.damper.valve import PARAMETERS, Valve
from dampkit.quantities import Array, Index


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
        v = self.values(p)
        total = -v.get("gas_n", 0.0) + v.get("gas_n_m", 0.0) * points.displacement_m
        total = total + v.get("gas_n_m2", 0.0) * points.displacement_m**2
        total = total + v.get("friction_n", 0.0) * np.tanh(points.velocity_m_s / v.get("friction_speed_m_s", 1e-3))
        total = total + v.get("mass_kg", 0.0) * points.acceleration_m_s2 - v.get("delay_s", 0.0) * points.force_rate_n_s
        for direction, rows, speed in self._sides(p, points):
            total[rows] += points.direction[rows] * self.valve(p, direction).force(speed)
        return np.asarray(total)

    def jacobian(self, p: Array, points: Points) -> Array:
        """d force / d free parameters, shape (N, K): exact, the valve's by implicit differentiation of v(F) = v."""
        rows_by_name = np.zeros((len(self.free), points.force_n.size))
        columns = dict(zip(self.free, rows_by_name, strict=True))
        for name in self.free:
            if "." not in name:
                columns[name][:] = self._common_column(name, p, points)
        for direction, rows, speed in self._sides(p, points):
            _, stiffness, gradient = self.valve(p, direction).solve(speed)
            sign = points.direction[rows]
            for i, name in enumerate(PARAMETERS):
                if f"{direction}.{name}" in columns:
                    columns[f"{direction}.{name}"][rows] = sign * gradient[:, i]
            if f"{direction}.compliance" in columns:
                columns[f"{direction}.compliance"][rows] = -stiffness * points.force_rate_n_s[rows]
        return rows_by_name.T

    def _sides(self, p: Array, points: Points) -> list[tuple[str, Index, Array]]:
        values = self.values(p)
        sides: list[tuple[str, Index, Array]] = []
        for direction, sign in (("rebound", 1.0), ("compression", -1.0)):
            if f"{direction}.bleed" not in values:
                continue
            rows = np.flatnonzero(points.direction == sign)
            through = (
                points.velocity_m_s[rows] - values.get(f"{direction}.compliance", 0.0) * points.force_rate_n_s[rows]
            )
            sides.append((direction, rows, np.maximum(sign * through, 0.0)))
        return sides

    def _common_column(self, name: str, p: Array, points: Points) -> Array:
        values = self.values(p)
        scale = values.get("friction_speed_m_s", 1e-3)
        bend = np.tanh(points.velocity_m_s / scale)
        column = {
            "gas_n": -np.ones(points.force_n.size),
            "gas_n_m": points.displacement_m,
            "gas_n_m2": points.displacement_m**2,
            "friction_n": bend,
            "friction_speed_m_s": -values.get("friction_n", 0.0) * (1 - bend**2) * points.velocity_m_s / scale**2,
            "mass_kg": points.acceleration_m_s2,
            "delay_s": -points.force_rate_n_s,
        }
        return np.asarray(column[name])
