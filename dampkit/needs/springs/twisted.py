"""Springs of steel that is twisted: coils of round wire, torsion bars, and what a lever makes of a bar's twist."""

from __future__ import annotations

import math

from dampkit.frozen import frozen

STEEL_SHEAR_PA = 79.3e9  # [shigley] for carbon steel; [en13906] has 81.5 for cold-drawn wire, 78.5 for hot-coiled


@frozen
class CoilSpring:
    """`coil_diameter_m` is to the middle of the wire; `active_count` is coils free to twist."""

    wire_diameter_m: float
    coil_diameter_m: float
    active_count: float
    shear_modulus_pa: float = STEEL_SHEAR_PA

    @property
    def rate_n_m(self) -> float:
        """G d^4 / (8 D^3 n). Source: [shigley] ch. 10, [en13906]."""
        return self.shear_modulus_pa * self.wire_diameter_m**4 / (8 * self.coil_diameter_m**3 * self.active_count)

    @property
    def index_ratio(self) -> float:
        """Coil over wire diameter; 4 to 12 is usual [shigley]."""
        return self.coil_diameter_m / self.wire_diameter_m

    def shear_stress_pa(self, load_n: float) -> float:
        """At the inside of the coil, K_B 8 F D / (pi d^3), K_B = (4 C + 2) / (4 C - 3). Source: [shigley] ch. 10."""
        curved = (4 * self.index_ratio + 2) / (4 * self.index_ratio - 3)
        return curved * 8 * load_n * self.coil_diameter_m / (math.pi * self.wire_diameter_m**3)


@frozen
class TorsionBar:
    """Round bar, or tube where `inner_diameter_m` is above zero; `length_m` is what can twist."""

    diameter_m: float
    length_m: float
    inner_diameter_m: float = 0.0
    shear_modulus_pa: float = STEEL_SHEAR_PA

    @property
    def polar_m4(self) -> float:
        """Second polar moment of area, pi (D^4 - d^4) / 32."""
        return math.pi * (self.diameter_m**4 - self.inner_diameter_m**4) / 32

    @property
    def rate_n_m_rad(self) -> float:
        """Torque over twist, G J / L. Source: [shigley] ch. 3."""
        return self.shear_modulus_pa * self.polar_m4 / self.length_m

    def shear_stress_pa(self, torque_n_m: float) -> float:
        """At the outside, T r / J. Source: [shigley] ch. 3."""
        return torque_n_m * 0.5 * self.diameter_m / self.polar_m4


def lever_rate_n_m(rate_n_m_rad: float, lever_m: float, angle_rad: float = 0.0, load_n: float = 0.0) -> float:
    """Vertical rate at the end of a lever, N/m.

    `angle_rad` is the lever's angle from level, positive when its end is on the loaded (bump) side of level; `load_n`
    the vertical load there. k_t / (r cos a)^2 + F tan a / (r cos a): on the level k_t / r^2. Source: own, by
    differentiating F = T / (r cos a).
    """
    reach = lever_m * math.cos(angle_rad)
    return rate_n_m_rad / reach**2 + load_n * math.tan(angle_rad) / reach
