"""The valve of one direction: speed as an explicit function of force, so force against speed is its inverse."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from dampkit.quantities import Array

PARAMETERS = ("leak", "bleed", "blowoff_force", "lift_rate", "open", "knee_n", "loss")
NEWTON_ROUNDS = 60
LAST_STEP = 1e-7  # of the root: Newton doubles the digits, so that what is left after such a step is rounding


@dataclass(frozen=True)
class Valve:
    """v = leak F + bleed sqrt(F) + lift(F) sqrt(F), and what flows on meets a loss: total force = F + loss v^2.

    F force over the valve [N] and v piston speed [m/s], both magnitudes of one direction.
    leak [m/s/N]: laminar clearance. bleed [m/s/sqrt(N)]: orifice that is always open.
    lift(F) [m/s/sqrt(N)]: nothing below `blowoff_force` [N], then `lift_rate` [m/s/sqrt(N)/N] times the excess, up to
    `open` (fully open). `knee_n` rounds both corners over about so many newtons; 0 is sharp.
    loss [N s2/m2]: the refill valve of the other chamber and other passages in series, never shut.
    The same law as flow against pressure drop with the piston area folded in.
    Source: [merritt1967] ch. 3 for orifice and clearance; lift in proportion to excess pressure is the usual
    spring-loaded valve.
    """

    leak: float = 0.0
    bleed: float = 0.0
    blowoff_force: float = np.inf
    lift_rate: float = 0.0
    open: float = np.inf
    knee_n: float = 0.0
    loss: float = 0.0

    def velocity(self, force_n: Array) -> Array:
        """Piston speed at a force >= 0 over the valve alone (the loss left out), same shape."""
        return self._speed_and_slope(np.sqrt(force_n))[0]

    def force(self, velocity_m_s: Array) -> Array:
        """Hydraulic force at a piston speed >= 0, same shape.

        Raises ValueError where leak and bleed are both zero (the force would be undefined below blow-off).
        """
        v = np.asarray(velocity_m_s, dtype=np.float64)
        return np.asarray(self.root(v) ** 2 + self.loss * v * v)

    def solve(self, velocity_m_s: Array, root: Array | None = None) -> tuple[Array, Array, Array]:
        """Force, dF/dv, and dF/d(PARAMETERS) at piston speeds >= 0: shapes (N,), (N,), (N, 7).

        The gradient is exact, by implicit differentiation of v(F) = v: dF/dp = -(dv/dp) / (dv/dF).
        `root`: the result of `root()` at these speeds, where it is known already.
        """
        v = np.asarray(velocity_m_s, dtype=np.float64)
        root = self.root(v) if root is None else root
        per_root = self._speed_and_slope(root)[1]
        stiffness = 2 * root / np.maximum(per_root, 1e-300)
        gradient = -stiffness[:, None] * self._velocity_gradient(root)
        gradient = np.column_stack([gradient, v * v])
        return root * root + self.loss * v * v, stiffness + 2 * self.loss * v, gradient

    @property
    def fully_open_force_n(self) -> float:
        """Force at which the blow-off is fully lifted; infinite where it has no stop."""
        if not np.isfinite(self.open) or self.lift_rate <= 0:
            return np.inf
        return self.blowoff_force + self.open / self.lift_rate

    def with_knee(self, knee_n: float) -> Valve:
        return replace(self, knee_n=knee_n)

    def root(self, velocity_m_s: Array, near: Array | None = None) -> Array:
        """Square root of the force over the valve alone [sqrt(N)], same shape; `near`: a guess, the closer the quicker.

        Safeguarded Newton between nothing and leak and bleed alone.
        """
        if self.leak <= 0 and self.bleed <= 0:
            raise ValueError("a valve needs a leak or a bleed to have a force at every speed")
        v = np.asarray(velocity_m_s, dtype=np.float64)
        high = self._upper_bound(v) if near is None else self._shut(v)
        low = np.zeros_like(high)
        u = high if near is None else np.minimum(near, high)
        for _ in range(NEWTON_ROUNDS):
            speed, slope = self._speed_and_slope(u)
            miss = speed - v
            above = miss > 0
            high, low = np.where(above, u, high), np.where(above, low, u)
            trial = u - miss / np.maximum(slope, 1e-300)
            if not (inside := (trial >= low) & (trial <= high)).all():
                trial = np.where(inside, trial, 0.5 * (low + high))
            u, step = trial, np.abs(trial - u)
            if (step <= LAST_STEP * u).all():
                break
        return u

    def _shut(self, v: Array) -> Array:
        """Square root of the force with leak and bleed alone."""
        return np.asarray(2 * v / np.maximum(self.bleed + np.sqrt(self.bleed**2 + 4 * self.leak * v), 1e-300))

    def _upper_bound(self, v: Array) -> Array:
        """Square root of a force that is too high: the blow-off's tangent at its knee, or leak and bleed alone."""
        shut = self._shut(v)
        if not np.isfinite(self.blowoff_force) or self.lift_rate <= 0:
            return shut
        knee = np.sqrt(self.blowoff_force)
        knee_speed = (self.leak * knee + self.bleed) * knee
        force = self.blowoff_force + np.maximum(v - knee_speed, 0.0) / (self.lift_rate * knee)
        full = self.fully_open_force_n
        if np.isfinite(full):
            force = np.where(force < full, force, np.maximum(full, (v / (self.bleed + self.open)) ** 2))
        near = np.minimum(np.sqrt(force), shut)
        return np.where(self._speed_and_slope(near)[0] >= v, near, shut)

    def _corners(self) -> list[tuple[float, float]]:
        """Forces at which the lift begins (+1) and ends (-1)."""
        ends = [(self.blowoff_force, 1.0), (self.fully_open_force_n, -1.0)]
        return [(force, sign) for force, sign in ends if np.isfinite(force)]

    def _speed_and_slope(self, root: Array) -> tuple[Array, Array]:
        """v and dv/du at u = sqrt(F), which is smooth at zero where dv/dF is not."""
        force, through = root * root, self.leak * root
        area, slope_sum = np.full_like(root, self.bleed), np.zeros_like(root)
        for corner, sign in self._corners():
            ramp, slope = _ramp(force - corner, self.knee_n)
            area += sign * self.lift_rate * ramp
            slope_sum += sign * self.lift_rate * slope
        return (through + area) * root, 2 * through + area + 2 * slope_sum * force

    def _velocity_gradient(self, root: Array) -> Array:
        """dv/d(leak, bleed, blowoff_force, lift_rate, open, knee_n) at u = sqrt(F), shape (N, 6)."""
        columns = np.zeros((root.size, 6))
        force = root * root
        columns[:, 0], columns[:, 1] = force, root
        for corner, sign in self._corners():
            ramp, slope = _ramp(force - corner, self.knee_n)
            spread = (ramp - (force - corner) * slope) / self.knee_n if self.knee_n > 0 else 0.0
            columns[:, 2] -= sign * self.lift_rate * slope * root
            columns[:, 3] += sign * ramp * root
            columns[:, 5] += sign * self.lift_rate * spread * root
            if sign < 0:
                columns[:, 3] -= slope * self.open / self.lift_rate * root
                columns[:, 4] = slope * root
        return columns


def _ramp(excess: Array, width: float) -> tuple[Array, Array]:
    """max(excess, 0) with its corner rounded over `width`, and its slope."""
    if width <= 0:
        return np.maximum(excess, 0.0), np.asarray(excess > 0, dtype=np.float64)
    z = excess / width
    tail = np.exp(-np.abs(z))
    slope = 1.0 / (1.0 + tail)
    return width * (np.log1p(tail) + np.maximum(z, 0.0)), np.where(z > 0, slope, 1.0 - slope)
