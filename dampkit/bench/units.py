"""Unit names that benches write, and their factor to SI."""

from __future__ import annotations

import re
from typing import Literal

from dampkit.quantities import FOOT_M, INCH_M, KILOGRAM_FORCE_N, POUND_FORCE_N, ZERO_CELSIUS_K, Array

Kind = Literal["time", "displacement", "velocity", "force", "temperature"]
KINDS: tuple[Kind, ...] = ("time", "displacement", "velocity", "force", "temperature")

_TIME = {"s": 1.0, "ms": 1e-3, "us": 1e-6, "min": 60.0}
_LENGTH = {"m": 1.0, "cm": 1e-2, "mm": 1e-3, "um": 1e-6, "in": INCH_M}
_FOOT = {"ft": FOOT_M}
_FORCE = {
    "N": 1.0,
    "daN": 10.0,
    "kN": 1e3,
    "kgf": KILOGRAM_FORCE_N,
    "lbf": POUND_FORCE_N,
    "kip": 1e3 * POUND_FORCE_N,
    "tf": 1e3 * KILOGRAM_FORCE_N,
    "cN": 1e-2,
}
_SPEED = {"mm/min": 1e-3 / 60.0, "km/h": 1 / 3.6}
FACTORS: dict[Kind, dict[str, float]] = {
    "time": _TIME,
    "displacement": {**_LENGTH, **_FOOT},
    "velocity": {**{f"{name}/s": factor for name, factor in {**_LENGTH, **_FOOT}.items()}, **_SPEED},
    "force": _FORCE,
}
UNITS: dict[Kind, tuple[str, ...]] = {
    **{kind: tuple(factors) for kind, factors in FACTORS.items()},
    "temperature": ("degC", "degF", "K"),
}

_LENGTH_ALIASES = {
    "mm": "millimeter millimetre millimeters millimetres",
    "cm": "centimeter centimetre",
    "m": "meter metre meters metres",
    "um": "µm μm micron",
    "in": 'inch inches " zoll',
    "ft": "foot feet",
}
_ALIASES: dict[Kind, dict[str, str]] = {
    "time": {
        "s": "sec secs second seconds sek sekunden",
        "ms": "msec millisecond milliseconds",
        "us": "µs μs usec",
        "min": "minute minutes",
    },
    "displacement": _LENGTH_ALIASES,
    "velocity": {
        **{
            f"{name}/s": " ".join(f"{w}/s {w}/sec {w}s-1 {w}s^-1 {w}s⁻¹" for w in [name, *words.split()])
            for name, words in _LENGTH_ALIASES.items()
        },
        "mm/min": "mmmin-1 mm/minute",
        "km/h": "kmh kph km/hr kmh-1",
    },
    "force": {
        "N": "newton newtons",
        "kN": "kilonewton",
        "daN": "dekanewton decanewton",
        "kgf": "kp kg kilogram-force",
        "lbf": "lb lbs pound pounds pound-force",
        "kip": "kips klbf",
        "tf": "tonne-force",
        "cN": "centinewton",
    },
    "temperature": {"degC": "°c ºc c celsius grad", "degF": "°f ºf f fahrenheit", "K": "kelvin"},
}
_NAMES: dict[Kind, dict[str, str]] = {
    kind: {
        **{unit.lower(): unit for unit in UNITS[kind]},
        **{alias: unit for unit, words in _ALIASES[kind].items() for alias in words.split()},
    }
    for kind in KINDS
}
_MANY = re.compile(r"(\d{1,12}(?:\.\d{1,12})?(?:e[+-]?\d{1,2})?)\s+(\S+)", re.IGNORECASE)
_LONE_LETTER_NEEDS_WORD = {"c", "f", "k", "m", "min", "in", '"'}  # no unit unless the name or the brackets say so


def unit_named(text: str, kind: Kind) -> str | None:
    """Our name of the unit written as `text` for a channel of this kind, or None where it is none.

    A number before it, as in `250 N` of a logger that writes volts, is so many of the unit for one of the log's.
    """
    many = _MANY.fullmatch(text.strip())
    unit = _NAMES[kind].get(_plain(many[2] if many else text))
    if many and unit is not None:
        return f"{float(many[1])!r} {unit}" if kind != "temperature" and float(many[1]) > 0 else None
    return unit


def factor_of(unit: str, kind: Kind) -> float:
    """What one of the log's numbers is in SI; `unit` as `unit_named` gives it, no temperature."""
    many, _, name = unit.rpartition(" ")
    return float(many or 1) * FACTORS[kind][name]


def kinds_with_unit(text: str, *, bracketed: bool = True) -> dict[Kind, str]:
    """Every kind of channel that the unit fits, with our name of it; a bare lone letter proves nothing."""
    plain = _plain(text)
    if not bracketed and plain in _LONE_LETTER_NEEDS_WORD:
        return {}
    return {kind: _NAMES[kind][plain] for kind in KINDS if plain in _NAMES[kind]}


def to_si(values: Array, unit: str, kind: Kind) -> Array:
    """Values of a channel in SI (temperature: in degC), same shape; `unit` is one of UNITS[kind]."""
    if kind == "temperature":
        if unit == "degC":
            return values
        return (values - 32.0) / 1.8 if unit == "degF" else values - ZERO_CELSIUS_K
    factor = factor_of(unit, kind)
    return values if factor == 1.0 else values * factor


def _plain(text: str) -> str:
    """Lower case, brackets, blanks and centred dots gone."""
    bare = re.sub(r"[\s\[\](){}<>·*]|\.$", "", text).lower()
    return bare.replace("degrees", "deg").replace("°deg", "deg")
