"""Values that may be right and seldom are: a motion ratio above 1, a mass in grams, a wheel rate in N/m.

What is usual is said of each key (`usual`, `odd`), so one place answers for every file; here it is held against values.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from pydantic import BaseModel

from dampkit.bench.described import PLAIN_NUMBER, unit_by_tail
from dampkit.bench.run import Quality
from dampkit.quantities import GRAVITY_M_S2, INCH_M, POUND_FORCE_N

# Unit of a key -> units that a person may have written instead, with their size in it
MISTAKEN: dict[str, dict[str, float]] = {
    "mm": {"m": 1000.0, "cm": 10.0, "inch": 1e3 * INCH_M, "um": 0.001},
    "kg": {"g": 0.001, "lb": POUND_FORCE_N / GRAVITY_M_S2, "N": 1 / GRAVITY_M_S2, "t": 1000.0},
    "N/mm": {"N/m": 0.001, "lbf/in": 0.1751268, "kgf/mm": GRAVITY_M_S2, "kN/m": 1.0},
    "N": {"kN": 1000.0, "kgf": GRAVITY_M_S2, "lbf": POUND_FORCE_N},
    "m/s": {"mm/s": 0.001, "inch/s": INCH_M, "mm/min": 0.001 / 60},
    "bar": {"psi": 0.0689476, "kPa": 0.01, "MPa": 10.0, "Pa": 1e-5},
    "s": {"ms": 0.001, "us": 1e-6},
    "Hz": {"kHz": 1000.0, "1/min": 1 / 60},
    "1/min": {"Hz": 60.0},
    "kg/m3": {"g/cm3": 1000.0},
    "ml": {"l": 1000.0},
    "GPa": {"MPa": 0.001, "Pa": 1e-9},
    "%": {"a share of 1": 100.0},
    PLAIN_NUMBER: {"percent": 0.01},
}


def doubt(value: float, unit: str, usual: tuple[float, float] | None, odd: str = "") -> str:
    """What to ask about a value outside of what is usual: `23 would be usual, ...`; "" where nothing is to be asked."""
    if usual is None or usual[0] <= value <= usual[1]:
        return ""
    shown = "" if unit == PLAIN_NUMBER else f" {unit}"
    asked = [f"usual is {usual[0]:g} to {usual[1]:g}{shown}", *([odd] if odd else [])]
    for other, size in MISTAKEN.get(unit, {}).items():
        if usual[0] <= value * size <= usual[1]:
            asked.append(f"Written in {other}? Then it is {value * size:.4g}{shown}.")
    return " ".join(part if part[-1] in ".?" else f"{part}." for part in asked)


def odd_values(spec: BaseModel | None, kind: str) -> tuple[Quality, ...]:
    """A remark for each value of a declared file that is seldom right; none without a file."""
    return () if spec is None else tuple(_odd(spec, f"{kind}.toml", ()))


def _odd(table: BaseModel, file: str, place: tuple[str, ...]) -> Iterator[Quality]:
    for name, field in type(table).model_fields.items():
        value = getattr(table, name)
        extra = field.json_schema_extra if isinstance(field.json_schema_extra, dict) else {}
        if "usual" in extra and name in table.model_fields_set and value is not None:
            yield from _of_key(value, name, extra, f"{file}, {_section(place)}{name}")
        yield from _inside(value, file, (*place, name))


def _inside(value: object, file: str, place: tuple[str, ...]) -> Iterator[Quality]:
    if isinstance(value, BaseModel):
        yield from _odd(value, file, place)
    elif isinstance(value, dict):
        for key, one in value.items():
            yield from _inside(one, file, (*place, str(key)))
    elif isinstance(value, list | tuple):
        for one in value:
            yield from _inside(one, file, place)


def _of_key(value: object, name: str, extra: Mapping[str, Any], where: str) -> Iterator[Quality]:
    low, high = extra["usual"]
    unit = str(extra.get("unit") or unit_by_tail(name) or PLAIN_NUMBER)
    for one in value if isinstance(value, tuple | list) else (value,):
        asked = doubt(float(one), unit, (low, high), str(extra.get("odd", "")))
        if asked:
            shown = "" if unit == PLAIN_NUMBER else f" {unit}"
            yield Quality("unusual_value", "warning", f"{where} is {one:g}{shown}; {asked}", clears="declare")
            return


def _section(place: tuple[str, ...]) -> str:
    return f"[{'.'.join(place)}] " if place else ""
