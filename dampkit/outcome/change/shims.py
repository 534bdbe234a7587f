"""A shim over a port: an annular plate clamped at its inner edge, free at its outer edge."""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import combinations_with_replacement

from dampkit.frozen import frozen

LARGE = 0.5  # deflection over thickness beyond which linear theory is too soft; usual limit for plates [roark]
HIGH_STRESS_PA = 1.0e9  # spring steel strip; common practice, no source


@frozen
class Plate:
    """Outer and clamp radius, thickness in m; `modulus_pa`, Poisson's ratio."""

    outer_m: float
    clamp_m: float
    thickness_m: float
    modulus_pa: float = 206e9
    poisson: float = 0.3

    @property
    def rigidity_n_m(self) -> float:
        """D = E t^3 / (12 (1 - nu^2)). Source: [roark]."""
        return self.modulus_pa * self.thickness_m**3 / (12 * (1 - self.poisson**2))


def pressure_deflection_m(plate: Plate, pressure_pa: float) -> float:
    """Deflection of the outer edge under pressure from clamp to outer edge, positive with the pressure.

    Case 2l with r_o = b. Source: [roark] Table 11.2.
    """
    a, b = plate.outer_m, plate.clamp_m
    ratio, log = b / a, math.log(a / b)
    c2 = 0.25 * (1 - ratio**2 * (1 + 2 * log))
    c3 = 0.25 * ratio * ((ratio**2 + 1) * log + ratio**2 - 1)
    l11 = (1 + 4 * ratio**2 - 5 * ratio**4 - 4 * ratio**2 * (2 + ratio**2) * log) / 64
    root = (a**2 - b**2) / (2 * a * b)
    moment = -pressure_moment_n(plate, 1.0)
    return -pressure_pa / plate.rigidity_n_m * (moment * a**2 * c2 + root * a**4 * c3 - a**4 * l11)


def pressure_moment_n(plate: Plate, pressure_pa: float) -> float:
    """Bending moment per metre at the clamp under that pressure, magnitude. Source: [roark] Table 11.2, case 2l."""
    a, b, nu = plate.outer_m, plate.clamp_m, plate.poisson
    ratio, log = b / a, math.log(a / b)
    c8 = 0.5 * (1 + nu + (1 - nu) * ratio**2)
    c9 = ratio * (0.5 * (1 + nu) * log + 0.25 * (1 - nu) * (1 - ratio**2))
    l17 = (1 - 0.25 * (1 - nu) * (1 - ratio**4) - ratio**2 * (1 + (1 + nu) * log)) / 4
    return pressure_pa * a**2 / c8 * ((a**2 - b**2) / (2 * a * b) * c9 - l17)


def pressure_stress_pa(plate: Plate, pressure_pa: float) -> float:
    """Bending stress at the clamp, 6 M / t^2. Source: [roark]."""
    return 6 * pressure_moment_n(plate, pressure_pa) / plate.thickness_m**2


def beyond_linear(plate: Plate, deflection_m: float) -> bool:
    """True where the deflection is more than half the thickness: the real shim is then stiffer than said."""
    return abs(deflection_m) > LARGE * plate.thickness_m


def stack_rate(thickness_mm: Sequence[float]) -> float:
    """Bending rate of free-sliding shims of equal diameters, in mm^3: their rigidities add, so the sum of t^3."""
    return sum(t**3 for t in thickness_mm)


def choose_stack(now_mm: Sequence[float], ratio: float, stock_mm: Sequence[float], most: int) -> tuple[float, ...]:
    """The stack from stock, thickest first, whose rate comes closest to `ratio` times that of the present one.

    Among equally close ones (1 %) the one with the fewest shims. Source: own.
    """
    wanted = ratio * stack_rate(now_mm)
    stacks = [s for n in range(1, most + 1) for s in combinations_with_replacement(sorted(stock_mm, reverse=True), n)]
    return min(stacks, key=lambda s: (round(abs(math.log(stack_rate(s) / wanted)), 2), len(s)))
