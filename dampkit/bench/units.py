"""Unit names that benches write, and their factor to SI."""

from __future__ import annotations

import re
from typing import Literal

import numpy as np
from scipy import constants

from dampkit.quantities import Array

Kind = Literal["time", "displacement", "velocity", "force", "temperature"]
KINDS: tuple[Kind, ...] = ("time", "displacement", "velocity", "force", "temperature")

_TIME = {"s": 1.0, "ms": constants.milli, "us": constants.micro, "min": constants.minute}
_LENGTH = {"m": 1.0, "cm": constants.centi, "mm": constants.milli, "um": constants.micro, "in": constants.inch}
_FOOT = {"ft": constants.foot}
_FORCE = {
    "N": 1.0,
    "daN": constants.deka,
    "kN": constants.kilo,
    "kgf": constants.kilogram_force,
    "lbf": constants.pound_force,
    "kip": constants.kilo * constants.pound_force,
    "tf": constants.kilo * constants.kilogram_force,
    "cN": constants.centi,
}
_SPEED = {"mm/min": constants.milli / constants.minute, "km/h": constants.kmh}
FACTORS: dict[Kind, dict[str, float]] = {
    "time": _TIME,
    "displacement": {**_LENGTH, **_FOOT},
    "velocity": {**{f"{name}/s": factor for name, factor in {**_LENGTH, **_FOOT}.items()}, **_SPEED},
    "force": _FORCE,
}
TEMPERATURES: dict[str, Literal["Celsius", "Fahrenheit", "Kelvin"]] = {
    "degC": "Celsius",
    "degF": "Fahrenheit",
    "K": "Kelvin",
}
UNITS: dict[Kind, tuple[str, ...]] = {**{k: tuple(v) for k, v in FACTORS.items()}, "temperature": tuple(TEMPERATURES)}

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
        return np.asarray(constants.convert_temperature(values, TEMPERATURES[unit], "Celsius"))
    factor = factor_of(unit, kind)
    return values if factor == 1.0 else values * factor


def _plain(text: str) -> str:
    """Lower case, brackets, blanks and centred dots gone."""
    bare = re.sub(r"[\s\[\](){}<>·*]|\.$", "", text).lower()
    return bare.replace("degrees", "deg").replace("°deg", "deg")
