"""The valve of one direction: speed as an explicit function of force, so force against speed is its inverse."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from scipy.special import expit

from dampkit.quantities import Array

NEWTON_ROUNDS = 60
SOLVED = 1e-11  # of the speed


@dataclass(frozen=True)
class Valve:
    """v(F) = leak F + bleed sqrt(F) + lift(F) sqrt(F).

    F hydraulic force [N] and v piston speed [m/s], both magnitudes of one direction.
    leak [m/s/N]: laminar clearance. bleed [m/s/sqrt(N)]: orifice that is always open.
    lift(F) [m/s/sqrt(N)]: nothing below `blowoff_force` [N], then `lift_rate` [m/s/sqrt(N)/N] times the excess, up to
    `open` (fully open). `knee_n` rounds both corners over about so many newtons; 0 is sharp.
    The same law as flow against pressure drop with the piston area folded in.
    Source: [merritt1967] ch. 3 for orifice and clearance; lift in proportion to excess pressure is the usual spring-loaded valve.
    """

    leak: float = 0.0
    bleed: float = 0.0
    blowoff_force: float = np.inf
    lift_rate: float = 0.0
    open: float = np.inf
    knee_n: float = 0.0

    def velocity(self, force_n: Array) -> Array:
        """Piston speed at a hydraulic force >= 0, same shape."""
        return self._speed_and_slope(np.sqrt(force_n))[0]

    def compliance(self, force_n: Array) -> Array:
        """dv/dF at a hydraulic force > 0, same shape [m/s/N]."""
        root = np.sqrt(np.maximum(force_n, 1e-12))
        return np.asarray(self._speed_and_slope(root)[1] / (2 * root))

    def force(self, velocity_m_s: Array) -> Array:
        """Hydraulic force at a piston speed >= 0, same shape: safeguarded Newton on the square root of the force.

        Raises ValueError where leak and bleed are both zero (the force would be undefined below blow-off).
        """
        v = np.asarray(velocity_m_s, dtype=np.float64)
        if self.leak <= 0 and self.bleed <= 0:
            raise ValueError("a valve needs a leak or a bleed to have a force at every speed")
        high = self._root_without_blowoff(v)
        low = np.zeros_like(high)
        u = high.copy()
        for _ in range(NEWTON_ROUNDS):
            speed, slope = self._speed_and_slope(u)
            miss = speed - v
            if np.all(np.abs(miss) <= SOLVED * v):
                break
            high, low = np.where(miss > 0, u, high), np.where(miss > 0, low, u)
            trial = u - miss / slope
            u = np.where((trial >= low) & (trial <= high), trial, 0.5 * (low + high))
        return np.asarray(u * u)

    def velocity_gradient(self, force_n: Array) -> Array:
        """dv/d(leak, bleed, blowoff_force, lift_rate, open), shape (..., 5); columns of infinite parameters are zero."""
        root = np.sqrt(force_n)
        zero = np.zeros_like(root)
        columns = [force_n, root, zero, zero, zero]
        if np.isfinite(self.blowoff_force):
            rise, rise_slope = _ramp(force_n - self.blowoff_force, self.knee_n)
            if np.isfinite(self.open):
                top, top_slope = _ramp(force_n - self._fully_open_force, self.knee_n)
                columns[2] = -self.lift_rate * (rise_slope - top_slope) * root
                columns[3] = (rise - top - top_slope * self.open / self.lift_rate) * root
                columns[4] = top_slope * root
            else:
                columns[2] = -self.lift_rate * rise_slope * root
                columns[3] = rise * root
        return np.stack(columns, axis=-1)

    @property
    def _fully_open_force(self) -> float:
        return self.blowoff_force + self.open / self.lift_rate

    @property
    def fully_open_force_n(self) -> float:
        """Force at which the blow-off is fully lifted; infinite where it has no stop."""
        return self._fully_open_force if np.isfinite(self.open) and self.lift_rate > 0 else np.inf

    def with_knee(self, knee_n: float) -> Valve:
        return replace(self, knee_n=knee_n)

    def _root_without_blowoff(self, v: Array) -> Array:
        """Square root of the force if leak and bleed alone carried the flow: an upper bound."""
        if self.leak == 0:
            return np.asarray(v / self.bleed)
        return np.asarray(2 * v / np.maximum(self.bleed + np.sqrt(self.bleed**2 + 4 * self.leak * v), 1e-300))

    def _speed_and_slope(self, root: Array) -> tuple[Array, Array]:
        """v and dv/du at u = sqrt(F), which is smooth at zero where dv/dF is not."""
        area, area_slope = self.bleed + np.zeros_like(root), np.zeros_like(root)
        if np.isfinite(self.blowoff_force):
            force = root * root
            corners = [(self.blowoff_force, 1.0)]
            if np.isfinite(self.fully_open_force_n):
                corners.append((self.fully_open_force_n, -1.0))
            for corner, sign in corners:
                ramp, slope = _ramp(force - corner, self.knee_n)
                area, area_slope = area + sign * self.lift_rate * ramp, area_slope + sign * self.lift_rate * slope
        v = (self.leak * root + area) * root
        return v, 2 * self.leak * root + area + 2 * area_slope * root * root


def _ramp(excess: Array, width: float) -> tuple[Array, Array]:
    """max(excess, 0) with its corner rounded over `width`, and its slope."""
    if width <= 0:
        return np.maximum(excess, 0.0), np.asarray(excess > 0, dtype=np.float64)
    z = excess / width
    return np.asarray(width * np.logaddexp(0.0, z)), np.asarray(expit(z))
