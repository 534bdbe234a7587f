"""Dry friction as damping, and friction dampers: the clamp force that gives a ratio at one amplitude, what it gives at others."""

from __future__ import annotations

import math

from dampkit.frozen import frozen
from dampkit.needs.corner import Corner


@frozen
class FrictionDamper:
    """Discs squeezed together. `faces` is how many rub; `arm_m` from the joint's middle to where the arm is moved."""

    outer_radius_m: float
    inner_radius_m: float
    faces: int
    friction_ratio: float
    arm_m: float

    @property
    def mean_radius_m(self) -> float:
        """Where the friction of worn-in discs acts: (outer + inner)/2. Source: [shigley] ch. 16 (uniform wear)."""
        return 0.5 * (self.outer_radius_m + self.inner_radius_m)

    def force_n(self, clamp_n: float) -> float:
        """At the end of the arm: clamp x friction x faces x mean radius over the arm's length."""
        return clamp_n * self.friction_ratio * self.faces * self.mean_radius_m / self.arm_m

    def clamp_n(self, force_n: float) -> float:
        """The clamp force that holds so much at the end of the arm."""
        return force_n * self.arm_m / (self.friction_ratio * self.faces * self.mean_radius_m)


def friction_for_ratio(corner: Corner, ratio: float, amplitude_m: float) -> float:
    """Dry friction at the wheel, N, that damps body swings of so much like a damping ratio: zeta c_c pi omega X/4.

    Only at that amplitude: the ratio goes with 1/X, so twice the swing has half the damping and half the swing twice,
    until the friction locks the spring. Source: [rao] ch. 3 (Coulomb equivalent).
    """
    omega = 2 * math.pi * corner.modes().body_frequency_hz
    return ratio * corner.critical_damping_n_s_m * math.pi * omega * amplitude_m / 4


def friction_ratio(corner: Corner, friction_n: float, amplitude_m: float) -> float:
    """Damping ratio that dry friction at the wheel adds when the body swings by so much: 4 F/(pi omega X) of critical.

    It is large for small swings: leaf friction can hide a dead damper when a car is pushed down by hand.
    Source: [rao] ch. 3 (Coulomb equivalent).
    """
    omega = 2 * math.pi * corner.modes().body_frequency_hz
    return 4 * friction_n / (math.pi * omega * amplitude_m) / corner.critical_damping_n_s_m
