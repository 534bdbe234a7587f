"""How this page writes values: rounded by their interval, with a unit, and `not established` where there is none."""

from __future__ import annotations

import re
from dataclasses import dataclass

from dampkit.outcome.result import EstimateRecord
from dampkit.quantities import Estimate, number, with_interval

NOT_ESTABLISHED = "not established"
UNIT_OF_AXIS = re.compile(r"\((N|m/s|mm)\)")
NUMBER_WITH_UNIT = re.compile(r"(?<![\w.])(\d+(?:\.\d+)?)[ \u00a0](N|m/s|mm)(?![\w/])")


def brief(value: float, digits: int = 3) -> str:
    """So many significant digits at most, without zeros at the end: `0.05`, `1`, `1240`."""
    text = number(value, digits)
    return text.rstrip("0").rstrip(".") if "." in text else text


@dataclass(frozen=True)
class Writer:
    """Writes numbers for the reader; `imperial` puts pounds, inches and degrees Fahrenheit beside SI."""

    imperial: bool = False

    def estimate(self, record: EstimateRecord | None, unit: str, factor: float = 1.0) -> str:
        """Value and 95 % interval; `factor` turns the stored unit into `unit`."""
        if record is None:
            return NOT_ESTABLISHED
        value = Estimate(record.value, record.low, record.high).scaled(factor)
        return with_interval(value, unit) + self._beside(value.value, unit)

    def value(self, value: float | None, unit: str = "", digits: int = 3) -> str:
        """A number that carries no interval, to so many significant digits."""
        if value is None:
            return NOT_ESTABLISHED
        return _joined(number(value, digits), unit) + self._beside(value, unit)

    def given(self, value: float, unit: str = "", digits: int = 3) -> str:
        """A declared or nominal number, without the zeros that a measured one would keep."""
        return _joined(brief(value, digits), unit) + self._beside(value, unit)

    def between(self, low: float, high: float, unit: str) -> str:
        return f"{number(low)} to {number(high)} {unit}" + self._beside_range(low, high, unit)

    def text(self, text: str) -> str:
        """A sentence of a stored result, with the other unit beside every number that has one."""
        if not self.imperial:
            return text
        return NUMBER_WITH_UNIT.sub(lambda found: f"{found[0]} [{_turned(found)}]", text)

    def _beside(self, value: float, unit: str) -> str:
        if not self.imperial or unit not in imperial_units():
            return ""
        name, factor, offset = imperial_units()[unit]
        return f" [{number(value * factor + offset)} {name}]"

    def _beside_range(self, low: float, high: float, unit: str) -> str:
        if not self.imperial or unit not in imperial_units():
            return ""
        name, factor, offset = imperial_units()[unit]
        return f" [{number(low * factor + offset)} to {number(high * factor + offset)} {name}]"


def _joined(text: str, unit: str) -> str:
    """Number and unit with a space that does not break at the end of a line."""
    return f"{text}\N{NO-BREAK SPACE}{unit}" if unit else text


def imperial_axis(axis: str) -> tuple[str, float]:
    """The name of an axis with its unit changed, and the factor that goes with it; (axis, 1) where there is none."""
    found = UNIT_OF_AXIS.search(axis)
    if found is None:
        return axis, 1.0
    name, factor, _ = imperial_units()[found[1]]
    return axis.replace(f"({found[1]})", f"({name})"), factor


def imperial_text(text: str) -> str:
    """A text with every force, speed and length turned into pounds, inches a second and inches."""
    return NUMBER_WITH_UNIT.sub(_turned, text)


def _turned(found: re.Match[str]) -> str:
    name, factor, _ = imperial_units()[found[2]]
    return f"{number(float(found[1]) * factor)} {name}"


def imperial_units() -> dict[str, tuple[str, float, float]]:
    """SI unit -> (name, factor, offset), from the exact definitions that scipy carries."""
    from scipy.constants import foot, inch, lbf

    return {
        "N": ("lbf", 1 / lbf, 0.0),
        "mm": ("in", 1e-3 / inch, 0.0),
        "m/s": ("in/s", 1 / inch, 0.0),
        "N s/m": ("lbf s/in", inch / lbf, 0.0),
        "N/mm": ("lbf/in", 1e3 * inch / lbf, 0.0),
        "mm²": ("in²", 1e-6 / inch**2, 0.0),
        "J": ("ft lbf", 1 / (foot * lbf), 0.0),
        "°C": ("°F", 1.8, 32.0),
    }
