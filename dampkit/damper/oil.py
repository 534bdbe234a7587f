"""Viscosity of an oil at a temperature, and what is known of a unit's oil."""

from __future__ import annotations

import math
from typing import TypeVar

import numpy as np

from dampkit.damper.areas import working_area_m2
from dampkit.damper.declared import DamperSpec
from dampkit.frozen import frozen
from dampkit.quantities import DIRECTIONS, Array

Temperature = TypeVar("Temperature", float, Array)

KELVIN = 273.15
LOWEST_MM2_S = 2.0  # where the short form of the equation ends
UNSURE = 0.35  # of a change with temperature, as its standard uncertainty: the unit's own oil is not known; own choice
UNSURE_DECLARED = 0.1  # ... where it is declared: leak and bleed are told apart by the fit alone; own choice
USUAL_AREA_M2 = 5e-4  # that oil works on, where none is declared: 27 mm bore less the rod; common practice


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


def line_through(at_c: float, mm2_s: float, slope: float) -> tuple[float, float]:
    """A, B of the line of that slope B through one point. Source: [astm_d341]; the slope is another oil's."""
    return math.log10(math.log10(mm2_s + 0.7)) + slope * math.log10(at_c + KELVIN), slope


def viscosity_mm2_s(constants: tuple[float, float], temperature_c: Temperature) -> Temperature:
    """Kinematic viscosity, same shape; below 2 mm2/s it is out of the equation's range. Source: [astm_d341]."""
    a, b = constants
    viscosity: Temperature = 10.0 ** (10.0 ** (a - b * np.log10(temperature_c + KELVIN))) - 0.7
    return viscosity


USUAL_OIL = walther_constants(40.0, 15.0, 100.0, 3.8)  # of dampers; common practice, from memory


@frozen
class UnitOil:
    """What is known of the oil: its line of viscosity, how unsure a change with temperature is, and what it works on.

    `area_m2`: rebound and compression.
    """

    line: tuple[float, float] = USUAL_OIL
    unsure_share: float = UNSURE
    area_m2: tuple[float, float] = (USUAL_AREA_M2, USUAL_AREA_M2)

    @property
    def declared(self) -> bool:
        return self.unsure_share < UNSURE


def unit_oil(spec: DamperSpec | None) -> UnitOil:
    """As declared, else usual. One viscosity alone is put on a line as steep as the usual oil's."""
    if spec is None:
        return UnitOil()
    cold, hot = spec.damper.oil_viscosity_40_mm2_s, spec.damper.oil_viscosity_100_mm2_s
    line = USUAL_OIL if cold is None else line_through(40.0, cold, USUAL_OIL[1])
    if cold is not None and hot is not None:
        line = walther_constants(40.0, cold, 100.0, hot)
    rebound, compression = (working_area_m2(spec, d) or USUAL_AREA_M2 for d in DIRECTIONS)
    return UnitOil(line, UNSURE if cold is None else UNSURE_DECLARED, (rebound, compression))
