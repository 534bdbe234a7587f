"""The damper as the wheel feels it: force against suspension speed, many cases at once."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from dampkit.damper.unit import Unit
from dampkit.frozen import frozen
from dampkit.needs.requirement import Need
from dampkit.quantities import Array, Index, read_only

TOP_M_S = 4.0  # of suspension speed in the table; faster than that the end slope goes on
GRID_M_S = 0.01  # friction and bleed are straight between the points


@frozen
class WheelCurves:
    """Damper force at the wheel, N, shape (cases, K), on equal steps of speed from -TOP_M_S to TOP_M_S.

    Speed is positive in extension; a damper that resists has force times speed >= 0.
    """

    force_n: Array

    @property
    def cases(self) -> int:
        return int(self.force_n.shape[0])

    def with_friction(self, friction_n: Array) -> WheelCurves:
        """The same with dry friction beside each case, shape (cases,)."""
        return WheelCurves(read_only(self.force_n + friction_n[:, None] * np.sign(np.round(self.grid_m_s(), 9))))

    def scaled(self, factors: Array) -> WheelCurves:
        """Every case times every factor, cases first: shape (cases x factors, K)."""
        return WheelCurves(read_only(np.outer(factors, self.force_n.ravel()).reshape(-1, self.force_n.shape[1])))

    @property
    def step_m_s(self) -> float:
        return 2 * TOP_M_S / (int(self.force_n.shape[1]) - 1)

    def grid_m_s(self) -> Array:
        """Speeds of the table, shape (K,)."""
        return np.linspace(-TOP_M_S, TOP_M_S, self.force_n.shape[1])

    def of(self, case: Index) -> WheelCurves:
        """Some of the cases, as often as they are named."""
        return WheelCurves(read_only(self.force_n[case]))

    def over(self, speed_m_s: Array) -> Array:
        """Force of each case at speeds of its own; both shape (cases, M). Straight between points and beyond the ends."""
        points = self.force_n.shape[1]
        place = (speed_m_s + TOP_M_S) / self.step_m_s
        left = np.clip(place.astype(np.intp), 0, points - 2)
        part = place - left
        left += points * np.arange(self.cases)[:, None]
        flat = self.force_n.ravel()
        low = flat[left]
        return np.asarray(low + part * (flat[left + 1] - low))

    def beside(self, other: WheelCurves) -> WheelCurves:
        """The cases of both, these first."""
        return WheelCurves(read_only(np.concatenate([self.force_n, other.force_n])))


def curves_from(force_at_damper: Callable[[Array], Array], motion_ratio: float) -> WheelCurves:
    """One case from a force law at the damper: F_wheel = R F(R v). Source: [dixon2007] (motion ratio)."""
    v = np.linspace(-TOP_M_S, TOP_M_S, 2 * round(TOP_M_S / GRID_M_S) + 1)
    return WheelCurves(read_only(motion_ratio * force_at_damper(motion_ratio * v)[None, :]))


def measured_curves(unit: Unit, motion_ratio: float) -> WheelCurves | None:
    """The unit as it was measured, friction included, gas force out; None where a direction has no fit.

    Above the fastest stage the last slope goes on.
    """
    rebound, compression = (side.law for side in unit.sides)
    if rebound is None or compression is None:
        return None
    friction = unit.friction_used_n

    def of_unit(v: Array) -> Array:
        sides = (_going_on(np.abs(v), law.velocity_m_s, law.force_n) for law in (rebound, compression))
        magnitude = np.where(v >= 0, *sides)
        return np.asarray(np.sign(v) * (magnitude + friction))

    return curves_from(of_unit, motion_ratio)


def needed_curves(need: Need, motion_ratio: float) -> WheelCurves:
    """The middle of the band that a corner needs."""

    def law(v: Array) -> Array:
        rebound, compression = (
            _going_on(np.abs(v), need.velocity_m_s, f) for f in (need.rebound_n, need.compression_n)
        )
        return np.asarray(np.where(v >= 0, rebound, -compression))

    return curves_from(law, motion_ratio)


def _going_on(speed: Array, v: Array, f: Array) -> Array:
    """Force at speeds; beyond the last one its slope goes on."""
    slope = max(0.0, float((f[-1] - f[-2]) / (v[-1] - v[-2])))
    return np.asarray(np.interp(speed, v, f) + slope * np.maximum(speed - v[-1], 0.0))
