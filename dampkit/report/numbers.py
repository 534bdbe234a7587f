"""How this page writes values: rounded by their interval, with a unit, and `not established` where there is none."""

from __future__ import annotations

from dampkit.frozen import frozen
from dampkit.outcome.record import EstimateRecord
from dampkit.quantities import FOOT_M, INCH_M, POUND_FORCE_N, Estimate, number, places_for, with_interval

NOT_ESTABLISHED = "not established"
MOST_DIGITS = 4  # of a value on a page: no bench knows more


def brief(value: float, digits: int = 3) -> str:
    """So many significant digits at most, without zeros at the end: `0.05`, `1`, `1240`."""
    text = number(value, digits)
    return text.rstrip("0").rstrip(".") if "." in text else text


@frozen
class Writer:
    """Writes numbers for the reader; `imperial` puts pounds, inches and degrees Fahrenheit beside SI."""

    imperial: bool = False

    def estimate(self, record: EstimateRecord | None, unit: str, factor: float = 1.0) -> str:
        """Value and 95 % interval; `factor` turns the stored unit into `unit`."""
        if record is None:
            return NOT_ESTABLISHED
        value = Estimate(record.value, record.low, record.high).scaled(factor)
        other = self._other(unit)
        if other is None or not value.half_width > 0:
            return with_interval(value, unit, MOST_DIGITS) + self.beside(value.value, unit)
        name, scale, offset = other
        places = places_for(scale * value.half_width)
        beside = round(value.value * scale + offset, places)
        return f"{with_interval(value, unit, MOST_DIGITS)} [{beside:z.{max(0, places)}f} {name}]"

    def value(self, value: float | None, unit: str = "", digits: int = 3) -> str:
        """A number that carries no interval, to so many significant digits."""
        if value is None:
            return NOT_ESTABLISHED
        return _joined(number(value, digits), unit) + self.beside(value, unit)

    def given(self, value: float, unit: str = "", digits: int = 3) -> str:
        """A declared or nominal number, without the zeros that a measured one would keep."""
        return _joined(brief(value, digits), unit) + self.beside(value, unit)

    def between(self, low: float, high: float, unit: str) -> str:
        return f"{number(low)} to {number(high)} {unit}" + self.beside((low, high), unit)

    def drawn(self, value: float, unit: str) -> str:
        """A number for a picture, whose axes have one unit: the imperial one where that is asked for."""
        name, factor, offset = self._other(unit) or (unit, 1.0, 0.0)
        return _joined(brief(value * factor + offset), name)

    def beside(self, value: float | tuple[float, float], unit: str) -> str:
        """The same, or both ends of it, in the other unit, in brackets; empty where there is none."""
        other = self._other(unit)
        if other is None:
            return ""
        name, factor, offset = other
        ends = value if isinstance(value, tuple) else (value,)
        return f" [{' to '.join(number(end * factor + offset) for end in ends)} {name}]"

    def _other(self, unit: str) -> tuple[str, float, float] | None:
        return imperial_units().get(unit) if self.imperial else None


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
