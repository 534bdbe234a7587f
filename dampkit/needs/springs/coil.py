"""Coil springs of round wire."""

from __future__ import annotations

import math
from dataclasses import dataclass

STEEL_SHEAR_PA = 79.3e9  # [shigley] for carbon steel; [en13906] has 81.5 for cold-drawn wire, 78.5 for hot-coiled


@dataclass(frozen=True)
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
