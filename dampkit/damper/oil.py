"""Viscosity of an oil at a temperature."""

from __future__ import annotations

import math

KELVIN = 273.15
LOWEST_MM2_S = 2.0  # where the short form of the equation ends


def walther_constants(cold_c: float, cold_mm2_s: float, hot_c: float, hot_mm2_s: float) -> tuple[float, float]:
    """A, B of log10 log10(nu + 0.7) = A - B log10 T, T in kelvin, nu in mm2/s. Source: [astm_d341].

    Raises ValueError outside its range (nu above 2 mm2/s) or for equal temperatures.
    """
    if min(cold_mm2_s, hot_mm2_s) <= LOWEST_MM2_S or cold_c == hot_c:
        raise ValueError(f"two points above {LOWEST_MM2_S:g} mm2/s at two temperatures are needed")
    y1, y2 = (math.log10(math.log10(nu + 0.7)) for nu in (cold_mm2_s, hot_mm2_s))
    x1, x2 = (math.log10(t + KELVIN) for t in (cold_c, hot_c))
    b = (y1 - y2) / (x2 - x1)
    return y1 + b * x1, b


def viscosity_mm2_s(constants: tuple[float, float], temperature_c: float) -> float:
    """Kinematic viscosity; below 2 mm2/s it is out of the equation's range. Source: [astm_d341]."""
    a, b = constants
    return math.pow(10.0, math.pow(10.0, a - b * math.log10(temperature_c + KELVIN))) - 0.7
