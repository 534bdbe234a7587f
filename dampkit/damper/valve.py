"""The valve of one direction: speed as an explicit function of force, so force against speed is its inverse."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from scipy.special import expit

from dampkit.quantities import Array

NEWTON_ROUNDS = 60


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
        root = np.sqrt(force_n)
        return self.leak * force_n + (self.bleed + self._lift(force_n)) * root

    def compliance(self, force_n: Array) -> Array:
        """dv/dF at a hydraulic force > 0, same shape [m/s/N]."""
        root = np.sqrt(np.maximum(force_n, 1e-12))
        return self.leak + 0.5 * (self.bleed + self._lift(force_n)) / root + self._lift_slope(force_n) * root

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
            f = u * u
            miss = self.velocity(f) - v
            high, low = np.where(miss > 0, u, high), np.where(miss > 0, low, u)
            slope = 2 * u * self.compliance(f)
            step = np.where(slope > 0, miss / np.where(slope > 0, slope, 1.0), 0.0)
            trial = u - step
            u_next = np.where((trial > low) & (trial < high), trial, 0.5 * (low + high))
            u_next = np.where(miss == 0, u, u_next)
            if np.all(np.abs(u_next - u) <= 1e-13 * (1 + high)):
                u = u_next
                break
            u = u_next
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
        return np.asarray(2 * v / (self.bleed + np.sqrt(self.bleed**2 + 4 * self.leak * v)))

    def _lift(self, force_n: Array) -> Array:
        if not np.isfinite(self.blowoff_force):
            return np.zeros_like(force_n)
        lift = self.lift_rate * _ramp(force_n - self.blowoff_force, self.knee_n)[0]
        if np.isfinite(self.fully_open_force_n):
            lift = lift - self.lift_rate * _ramp(force_n - self.fully_open_force_n, self.knee_n)[0]
        return np.asarray(lift)

    def _lift_slope(self, force_n: Array) -> Array:
        if not np.isfinite(self.blowoff_force):
            return np.zeros_like(force_n)
        slope = self.lift_rate * _ramp(force_n - self.blowoff_force, self.knee_n)[1]
        if np.isfinite(self.fully_open_force_n):
            slope = slope - self.lift_rate * _ramp(force_n - self.fully_open_force_n, self.knee_n)[1]
        return np.asarray(slope)


def _ramp(excess: Array, width: float) -> tuple[Array, Array]:
    """max(excess, 0) with its corner rounded over `width`, and its slope."""
    if width <= 0:
        return np.maximum(excess, 0.0), np.asarray(excess > 0, dtype=np.float64)
    z = excess / width
    return np.asarray(width * np.logaddexp(0.0, z)), np.asarray(expit(z))
