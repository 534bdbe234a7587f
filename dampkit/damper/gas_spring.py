"""The gas of a unit as a spring: its pressure and its force on the rod at any place and temperature."""

from __future__ import annotations

from dampkit.damper.areas import EXPANSION_PER_K
from dampkit.frozen import frozen

AIR_PA = 101325.0
KELVIN = 273.15
SLOW, FAST = 1.0, 1.4  # exponent of p V^n: the gas keeps the temperature of what is round it, or has no time to


@frozen
class GasSpring:
    """Gas at an absolute pressure, a temperature and a volume, with the rod in the middle of the bench's stroke.

    `rod_m2`: what the rod takes of the volume as it goes in. `oil_m3`: oil that swells into the gas as it warms.
    """

    pressure_pa: float
    temperature_c: float
    volume_m3: float
    rod_m2: float
    oil_m3: float = 0.0

    def pressure_at_pa(self, out_m: float, temperature_c: float, exponent: float = SLOW) -> float | None:
        """Absolute pressure with the rod so far out of the middle; None where no room is left for the gas.

        Warmed at rest first, p V / T of an ideal gas with the oil's swelling, then moved by p V^n.
        Source: ideal gas law; [dixon2007] ch. 9.
        """
        swollen = self.oil_m3 * EXPANSION_PER_K * (temperature_c - self.temperature_c)
        still = self.volume_m3 - swollen
        moved = still + self.rod_m2 * out_m
        if min(still, moved) <= 0.0:
            return None
        warmed = (temperature_c + KELVIN) / (self.temperature_c + KELVIN) * self.volume_m3 / still
        return float(self.pressure_pa * warmed * (still / moved) ** exponent)

    def force_n(self, out_m: float, temperature_c: float, exponent: float = SLOW) -> float | None:
        """Force that pushes the rod out, N; None as above."""
        pressure = self.pressure_at_pa(out_m, temperature_c, exponent)
        return None if pressure is None else (pressure - AIR_PA) * self.rod_m2


def volume_from_stiffness_m3(stiffness_n_m: float, pressure_pa: float, rod_m2: float, exponent: float = SLOW) -> float:
    """Volume of a gas whose force changes so much with the rod's travel: n p A^2 / k, from p V^n. Source: [dixon2007] ch. 9."""
    return exponent * pressure_pa * rod_m2**2 / stiffness_n_m
