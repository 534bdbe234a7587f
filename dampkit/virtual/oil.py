"""Damper oil with free gas: viscosity, density and how much it gives under pressure."""

from __future__ import annotations

from collections.abc import Sequence
from functools import cached_property

import numpy as np

from dampkit.frozen import frozen
from dampkit.quantities import Array

ATMOSPHERE_PA = 101325.0
KELVIN = 273.15


def walther(cold: tuple[float, float], hot: tuple[float, float]) -> tuple[float, float]:
    """Constants A, B of log10 log10(nu + 0.7) = A - B log10 T from two points (temperature in K, nu in mm2/s).

    Source: [astm_d341], valid above 2 mm2/s.
    """
    (t1, nu1), (t2, nu2) = cold, hot
    y1, y2 = np.log10(np.log10(nu1 + 0.7)), np.log10(np.log10(nu2 + 0.7))
    slope = (y1 - y2) / (np.log10(t2) - np.log10(t1))
    return float(y1 + slope * np.log10(t1)), float(slope)


@frozen
class Oil:
    """An oil. `free_gas_ratio` is the gas volume carried as bubbles per oil volume, at one atmosphere."""

    density_20_kg_m3: float = 860.0
    expansion_per_k: float = 7.5e-4
    viscosity_40_mm2_s: float = 15.0
    viscosity_100_mm2_s: float = 3.8
    bulk_modulus_pa: float = 1.5e9
    free_gas_ratio: float = 0.001
    gas_exponent: float = 1.4

    @cached_property
    def walther_constants(self) -> tuple[float, float]:
        return walther((40.0 + KELVIN, self.viscosity_40_mm2_s), (100.0 + KELVIN, self.viscosity_100_mm2_s))

    def viscosity_mm2_s(self, temperature_c: Array | float) -> Array:
        """Kinematic viscosity, same shape. Source: [astm_d341]."""
        a, b = self.walther_constants
        return np.asarray(10.0**10.0 ** (a - b * np.log10(np.asarray(temperature_c) + KELVIN)) - 0.7)

    def density_kg_m3(self, temperature_c: Array | float) -> Array:
        """Density, same shape; volume grows linearly with temperature."""
        return np.asarray(self.density_20_kg_m3 / (1.0 + self.expansion_per_k * (np.asarray(temperature_c) - 20.0)))

    def dynamic_viscosity_pa_s(self, temperature_c: Array | float) -> Array:
        """Dynamic viscosity, same shape."""
        return 1e-6 * self.viscosity_mm2_s(temperature_c) * self.density_kg_m3(temperature_c)

    def volume_ratio(self, pressure_pa: Array) -> Array:
        """Volume of oil plus its bubbles at an absolute pressure, per volume of oil at one atmosphere.

        V/V0 = 1 - (p - p0)/B + x (p0/p)^(1/n): liquid and bubbles give way side by side.
        Source: own, from the definition K = -V dp/dV.
        """
        gas = self.free_gas_ratio * (ATMOSPHERE_PA / pressure_pa) ** (1.0 / self.gas_exponent)
        return np.asarray(1.0 - (pressure_pa - ATMOSPHERE_PA) / self.bulk_modulus_pa + gas)

    def tangent_modulus_pa(self, pressure_pa: Array) -> Array:
        """-V dp/dV of oil plus bubbles at an absolute pressure, same shape. Source: own."""
        n = self.gas_exponent
        gas = self.free_gas_ratio * (ATMOSPHERE_PA / pressure_pa) ** (1.0 / n)
        give = 1.0 / self.bulk_modulus_pa + gas / (n * pressure_pa)
        return np.asarray(self.volume_ratio(pressure_pa) / give)


class OilColumns:
    """Viscosity and density of N oils side by side, each at its own temperature; shapes (N,)."""

    def __init__(self, oils: Sequence[Oil]) -> None:
        self._a, self._b = np.array([o.walther_constants for o in oils]).T
        self._expansion = np.array([o.expansion_per_k for o in oils])
        self.density_20 = np.array([o.density_20_kg_m3 for o in oils])
        self.viscosity_20_pa_s = np.array([float(o.dynamic_viscosity_pa_s(20.0)) for o in oils])

    def viscosity_mm2_s(self, temperature_c: Array) -> Array:
        """Kinematic viscosity. Source: [astm_d341]."""
        return np.asarray(10.0**10.0 ** (self._a - self._b * np.log10(temperature_c + KELVIN)) - 0.7)

    def density_kg_m3(self, temperature_c: Array) -> Array:
        return np.asarray(self.density_20 / (1.0 + self._expansion * (temperature_c - 20.0)))
