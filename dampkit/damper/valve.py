"""The valve of one direction: speed as an explicit function of force, so force against speed is its inverse."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace
from functools import cached_property
from typing import Any, cast

import numpy as np

from dampkit.frozen import frozen
from dampkit.quantities import Array, Mask

PARAMETERS = ("leak", "bleed", "blowoff_force", "lift_rate", "open", "knee_n", "exponent", "loss")
LIFT_AT_N = 300.0  # excess force at which `lift_rate` holds whatever the exponent
LEAST_EXCESS_N = 1e-12  # keeps the power of an excess in range where the valve is shut
NEWTON_ROUNDS, NEWTON_ALONE = 120, 30
all_of = np.logical_and.reduce  # what `all` asks, without its way round
LAST_STEP = 1e-7  # of the root: Newton doubles the digits, so that what is left after such a step is rounding


@frozen
class Valve:
    """v = leak F + bleed sqrt(F) + lift(F) sqrt(F), and what flows on meets a loss: total force = F + loss v^2.

    F force over the valve [N] and v piston speed [m/s], both magnitudes of one direction.
    leak [m/s/N]: laminar clearance. bleed [m/s/sqrt(N)]: orifice that is always open.
    lift(F) [m/s/sqrt(N)]: zero below `blowoff_force` [N], then `lift_rate` [m/s/sqrt(N)/N] times LIFT_AT_N times
    (excess / LIFT_AT_N)^`exponent`, up to `open` (fully open). An exponent of 1 is a lift in proportion to the excess;
    below 1 a digressive shim stack, above 1 a progressive one. `knee_n` rounds both corners over about so many newtons;
    0 is sharp.
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
    exponent: float = 1.0
    loss: float = 0.0

    def velocity(self, force_n: Array) -> Array:
        """Piston speed at a force >= 0 over the valve alone (the loss left out), same shape."""
        return self.speed_and_slope(np.sqrt(force_n))[0]

    def force(self, velocity_m_s: Array) -> Array:
        """Hydraulic force at a piston speed >= 0, same shape.

        Raises ValueError where leak and bleed are both zero (the force would be undefined below blow-off).
        """
        v = np.asarray(velocity_m_s, dtype=np.float64)
        return np.asarray(self.root(v) ** 2 + self.loss * v * v)

    def solve(self, velocity_m_s: Array, root: Array | None = None) -> tuple[Array, Array, Array]:
        """Force, dF/dv, and dF/d(PARAMETERS) at piston speeds >= 0: shapes (N,), (N,), (N, 8).

        The gradient is exact, by implicit differentiation of v(F) = v: dF/dp = -(dv/dp) / (dv/dF).
        `root`: the result of `root()` at these speeds, where it is known already.
        """
        v = np.asarray(velocity_m_s, dtype=np.float64)
        root = self.root(v) if root is None else root
        per_root = self.speed_and_slope(root)[1]
        stiffness = 2 * root / np.maximum(per_root, 1e-300)
        gradient = -stiffness[:, None] * self._velocity_gradient(root)
        gradient = np.column_stack([gradient, v * v])
        return root * root + self.loss * v * v, stiffness + 2 * self.loss * v, gradient

    def columns(self, **columns: float | Array) -> Valve:
        """The valve with a column in the place of some numbers: valves side by side, all with a blow-off or none, a row each."""
        changed: dict[str, Any] = {**columns}
        return replace(self, **changed)

    @cached_property
    def fully_open_force_n(self) -> float:
        """Force at which the blow-off is fully lifted; infinite where it has no stop."""
        if not _finite(self.open) or not self._lifts:
            return np.inf
        return cast(float, np.asarray(self.blowoff_force + self._excess_n(np.array(self.open)))[()])

    @cached_property
    def _opens(self) -> bool:
        return _finite(self.blowoff_force)

    @cached_property
    def _plain(self) -> bool:
        return _every(self.knee_n <= 0) and _every(self.exponent == 1) and not _finite(self.fully_open_force_n)

    @cached_property
    def _lifts(self) -> bool:
        return self._opens and _every(self.lift_rate > 0)

    def _excess_n(self, lift: Array) -> Array:
        """Force above the blow-off force that opens the valve so far."""
        return np.asarray(LIFT_AT_N * (lift / (self.lift_rate * LIFT_AT_N)) ** (1 / self.exponent))

    def root(self, velocity_m_s: Array, near: Array | None = None) -> Array:
        """Square root of the force over the valve alone [sqrt(N)], same shape; `near`: a guess, the closer the quicker.

        Safeguarded Newton between nothing and leak and bleed alone.
        """
        if not _every((self.leak > 0) | (self.bleed > 0)):
            raise ValueError("a valve needs a leak or a bleed to have a force at every speed")
        v = np.asarray(velocity_m_s, dtype=np.float64)
        high = self._upper_bound(v) if near is None else self._shut(v)
        return rising_root(self.speed_and_slope, v, high, high if near is None else np.minimum(near, high))

    def _shut(self, v: Array) -> Array:
        """Square root of the force with leak and bleed alone."""
        return np.asarray(2 * v / np.maximum(self.bleed + np.sqrt(self.bleed**2 + 4 * self.leak * v), 1e-300))

    def _upper_bound(self, v: Array) -> Array:
        """Square root of a force that is too high: the blow-off's tangent at its knee, or leak and bleed alone."""
        shut = self._shut(v)
        if not self._lifts:
            return shut
        knee = np.sqrt(self.blowoff_force)
        knee_speed = (self.leak * knee + self.bleed) * knee
        force = self.blowoff_force + self._excess_n(np.maximum(v - knee_speed, 0.0) / knee)
        full = self.fully_open_force_n
        if _finite(full):
            force = np.where(force < full, force, np.maximum(full, (v / (self.bleed + self.open)) ** 2))
        near = np.minimum(np.sqrt(force), shut)
        return np.where(self.speed_and_slope(near)[0] >= v, near, shut)

    def speed_and_slope(self, root: Array) -> tuple[Array, Array]:
        """v and dv/du at u = sqrt(F), which is smooth at zero where dv/dF is not."""
        force, through = root * root, self.leak * root
        if not self._opens:
            return (through + self.bleed) * root, 2 * through + self.bleed
        lift, by_force = self._lift(force)
        return (through + self.bleed + lift) * root, 2 * through + self.bleed + lift + 2 * by_force * force

    def _lift(self, force: Array) -> tuple[Array, Array]:
        """The lift and its slope by force; the usual one, sharp and in proportion, without the way round by `_Opening`."""
        if self._plain:
            excess = np.maximum(force - self.blowoff_force, 0.0)
            return self.lift_rate * excess, np.where(excess > 0, self.lift_rate, 0.0)
        opening = _Opening.of(self, force)
        lift, by_excess = opening.lift()
        return lift, by_excess * (opening.begun - opening.ended)

    def _velocity_gradient(self, root: Array) -> Array:
        """dv/d(leak, bleed, blowoff_force, lift_rate, open, knee_n, exponent) at u = sqrt(F), shape (N, 7)."""
        columns = np.zeros((root.size, 7))
        columns[:, 0], columns[:, 1] = root * root, root
        if self._opens:
            columns[:, 2:] = _Opening.of(self, root * root).gradient() * root[:, None]
        return columns


def rising_root(rising: Callable[[Array], tuple[Array, Array]], wanted: Array, high: Array, near: Array) -> Array:
    """Where a rising function, which gives its value and slope, is as wanted, between nothing and `high`; same shape.

    Newton from `near`, halving where a step leaves what holds the root, and by turns where it swings about a corner.
    """
    low, high, u = np.zeros(high.shape), high.copy(), near
    for tries in range(NEWTON_ROUNDS):
        value, slope = rising(u)
        miss = value - wanted
        above = miss > 0
        np.copyto(high, u, where=above)
        np.copyto(low, u, where=~above)
        trial = u - miss / np.maximum(slope, 1e-300)
        inside = (trial >= low) & (trial <= high)
        if tries > NEWTON_ALONE and tries % 2:
            inside &= np.abs(trial - u) <= LAST_STEP * u
        if not all_of(inside, axis=None):
            trial = np.where(inside, trial, 0.5 * (low + high))
        u, step = trial, np.abs(trial - u)
        if all_of(step <= LAST_STEP * u, axis=None):
            break
    return u


def _every(holds: bool | Mask) -> bool:
    """Of a number, or of all in a column."""
    return bool(holds.all()) if isinstance(holds, np.ndarray) else bool(holds)


def _finite(x: float | Array) -> bool:
    return math.isfinite(x) if isinstance(x, float) else _every(np.isfinite(x))


@frozen
class _Opening:
    """How far a valve is open over force. `excess` [N] is that above the blow-off force, at most that at fully open;
    `begun` and `ended` are its slopes by force at the two corners."""

    valve: Valve
    force: Array
    excess: Array
    begun: Array
    ended: float | Array

    @classmethod
    def of(cls, valve: Valve, force: Array) -> _Opening:
        excess, begun = _ramp(force - valve.blowoff_force, valve.knee_n)
        if not _finite(full := valve.fully_open_force_n):
            return cls(valve, force, excess, begun, 0.0)
        over, ended = _ramp(force - full, valve.knee_n)
        return cls(valve, force, excess - over, begun, ended)

    def lift(self) -> tuple[Array, float | Array]:
        """The lift and its slope by the excess."""
        n, rate = self.valve.exponent, self.valve.lift_rate
        if _every(n == 1):
            return rate * self.excess, rate
        excess = np.maximum(self.excess, LEAST_EXCESS_N)
        lift = rate * LIFT_AT_N * (excess / LIFT_AT_N) ** n
        return lift, n * lift / excess

    def gradient(self) -> Array:
        """d lift / d(blowoff_force, lift_rate, open, knee_n, exponent), shape (N, 5)."""
        valve, n, rate = self.valve, self.valve.exponent, self.valve.lift_rate
        lift, by_excess = self.lift()
        span = valve.fully_open_force_n - valve.blowoff_force
        columns = np.zeros((self.force.size, 5))
        columns[:, 0] = -by_excess * (self.begun - self.ended)
        columns[:, 1] = lift / rate
        columns[:, 4] = lift * np.log(np.maximum(self.excess, LEAST_EXCESS_N) / LIFT_AT_N)
        if np.isfinite(span):  # rate and exponent move the upper corner
            by_span = by_excess * self.ended * span / n
            columns[:, 1] -= by_span / rate
            columns[:, 2] = by_span / valve.open
            columns[:, 4] -= by_span * np.log(max(span, LEAST_EXCESS_N) / LIFT_AT_N)
        if valve.knee_n > 0:
            above = self.force - valve.blowoff_force
            beyond = (above - span) * self.ended if np.isfinite(span) else 0.0
            columns[:, 3] = by_excess * (self.excess - above * self.begun + beyond) / valve.knee_n
        return columns


def _ramp(excess: Array, width: float) -> tuple[Array, Array]:
    """max(excess, 0) with its corner rounded over `width`, and its slope."""
    if _every(width <= 0):
        return np.maximum(excess, 0.0), np.asarray(excess > 0, dtype=np.float64)
    z = excess / width
    tail = np.exp(-np.abs(z))
    return width * (np.log1p(tail) + np.maximum(z, 0.0)), np.where(z > 0, 1.0, tail) / (1.0 + tail)
