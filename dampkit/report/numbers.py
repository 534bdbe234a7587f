"""How this page writes values: rounded by their interval, with a unit, and `not established` where there is none."""

from __future__ import annotations

from dataclasses import dataclass

from dampkit.outcome.record import EstimateRecord
from dampkit.quantities import FOOT_M, INCH_M, POUND_FORCE_N, Estimate, number, with_interval

NOT_ESTABLISHED = "not established"


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
        return with_interval(value, unit) + self.beside(value.value, unit)

    def value(self, value: float | None, unit: str = "", digits: int = 3) -> str:
        """A number that carries no interval, to so many significant digits."""
        if value is None:
            return NOT_ESTABLISHED
        return _joined(number(value, digits), unit) + self.beside(value, unit)

    def given(self, value: float, unit: str = "", digits: int = 3) -> str:
        """A declared or nominal number, without the zeros that a measured one would keep."""
        return _joined(brief(value, digits), unit) + self.beside(value, unit)

    def between(self, low: float, high: float, unit: str) -> str:
        return f"{number(low)} to {number(high)} {unit}" + self._beside_range(low, high, unit)

    def drawn(self, value: float, unit: str, digits: int = 3) -> str:
        """A number for a picture, whose axes have one unit: the imperial one where that is asked for."""
        if not self.imperial or unit not in imperial_units():
            return _joined(brief(value, digits), unit)
        name, factor, offset = imperial_units()[unit]
        return _joined(brief(value * factor + offset, digits), name)

    def beside(self, value: float, unit: str) -> str:
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


def imperial_units() -> dict[str, tuple[str, float, float]]:
    """SI unit -> (name, factor, offset)."""
    foot, inch, lbf = FOOT_M, INCH_M, POUND_FORCE_N
    return {
        "N": ("lbf", 1 / lbf, 0.0),
        "mm": ("in", 1e-3 / inch, 0.0),
        "m/s": ("in/s", 1 / inch, 0.0),
        "N s/m": ("lbf s/in", inch / lbf, 0.0),
        "N/mm": ("lbf/in", 1e3 * inch / lbf, 0.0),
        "mm²": ("in²", 1e-6 / inch**2, 0.0),
        "N m": ("lb ft", 1 / (foot * lbf), 0.0),
        "J": ("ft lbf", 1 / (foot * lbf), 0.0),
        "°C": ("°F", 1.8, 32.0),
    }
