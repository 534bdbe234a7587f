"""Leaf springs: rate, stress, camber, shackle and the friction between the leaves; a helper that comes in late."""

from __future__ import annotations

from typing import Literal

import numpy as np

from dampkit.frozen import frozen
from dampkit.quantities import Array

STEEL_PA = 207e9  # Young's modulus of spring steel [bhandari]; 206 to 210 GPa are in use
Clamp = Literal["band", "u-bolts"]
CLAMPED_SHARE: dict[Clamp, float] = {"band": 1.0, "u-bolts": 2 / 3}  # of the clamped length that cannot bend [khurmi]


@frozen
class LeafSpring:
    """Semi-elliptic: carried at both ends, loaded in the middle, all leaves of one width and thickness.

    `span_m` is from eye to eye under load. `clamp_length_m` is the width of the band, or the distance between the
    U-bolts; of it the whole or two thirds cannot bend. `free_camber_m` is the height of the eyes over the seat
    without load. `shackle_tangent_ratio` is sideways over downward force at the eye: positive where the shackle
    pulls the eyes apart. `friction_ratio` is the coefficient between the leaves (wet with grease 0.1, dry and rusty
    0.5 and more: common practice, no source).
    """

    span_m: float
    width_m: float
    thickness_m: float
    full_length_count: int
    graduated_count: int
    clamp_length_m: float = 0.0
    clamp: Clamp = "band"
    modulus_pa: float = STEEL_PA
    free_camber_m: float = 0.0
    shackle_tangent_ratio: float = 0.0
    friction_ratio: float = 0.0

    @property
    def leaf_count(self) -> int:
        return self.full_length_count + self.graduated_count

    @property
    def arm_m(self) -> float:
        """Half of the span that can bend. Source: [khurmi] ch. 23."""
        return 0.5 * (self.span_m - CLAMPED_SHARE[self.clamp] * self.clamp_length_m)

    @property
    def rate_n_m(self) -> float:
        """Load in the middle over deflection: E b t^3 (3 n_f + 2 n_g) / (6 L^3). Source: [khurmi], [bhandari]."""
        section = self.modulus_pa * self.width_m * self.thickness_m**3
        return section * self._weighted_count / (6 * self.arm_m**3)

    def deflection_m(self, load_n: float) -> float:
        """Of the middle under a load there, shackle and friction left out."""
        return load_n / self.rate_n_m

    def stress_pa(self, load_n: float) -> tuple[float, float]:
        """Bending stress at the clamp of the full-length and of the graduated leaves, assembled without nip.

        18 F L / (b t^2 (3 n_f + 2 n_g)) and 12 F L / (the same), F half of the load. Source: [khurmi], [bhandari].
        """
        moment = 0.5 * load_n * self.arm_m
        unit = moment / (self.width_m * self.thickness_m**2 * self._weighted_count)
        return 18 * unit, 12 * unit

    def loaded_camber_m(self, load_n: float) -> float:
        """Height of the eyes over the seat under load; negative when bent the other way. Shackle and friction out."""
        return self.free_camber_m - self.deflection_m(load_n)

    def sag_m(self, load_n: float, measured_camber_m: float) -> float:
        """Height lost against the spring as it was made: expected less measured camber under the same load."""
        return self.loaded_camber_m(load_n) - measured_camber_m

    def load_with_shackle_n(self, deflection_m: Array) -> Array:
        """Load that holds a deflection when the shackle also pulls along the spring, same shape.

        Source: own, from the moment of the pull about each section of a spring bent to an arc:
        deflection = load / rate x (1 + 4/3 tan(angle) camber / L). For a constant angle and small slopes.
        """
        camber = self.free_camber_m - deflection_m
        lever = 1 + 4 / 3 * self.shackle_tangent_ratio * camber / self.arm_m
        return np.asarray(self.rate_n_m * deflection_m / lever)

    def rate_with_shackle_n_m(self, deflection_m: float) -> float:
        """Slope of `load_with_shackle_n` at a deflection."""
        pull = 4 / 3 * self.shackle_tangent_ratio / self.arm_m
        lever = 1 + pull * (self.free_camber_m - deflection_m)
        return self.rate_n_m * (lever + pull * deflection_m) / lever**2

    def friction_n(self, load_n: float) -> float:
        """Half-width of the load loop from rubbing at the leaf tips: mu t (n - 1) / L of the load.

        Source: own, from the slip of each leaf end along its neighbour when the spring bends to an arc, every
        contact carrying the whole end load. A measured loop replaces it.
        """
        return self.friction_ratio * self.thickness_m * (self.leaf_count - 1) / self.arm_m * load_n

    @property
    def _weighted_count(self) -> int:
        return 3 * self.full_length_count + 2 * self.graduated_count


@frozen
class HelperSpring:
    """A main spring alone up to `contact_m` of deflection, then the helper leaf with it."""

    main_rate_n_m: float
    helper_rate_n_m: float
    contact_m: float

    def rate_n_m(self, load_n: float) -> float:
        """Rate at a load."""
        touching = load_n > self.main_rate_n_m * self.contact_m
        return self.main_rate_n_m + (self.helper_rate_n_m if touching else 0.0)
