"""What a key means, said once, beside its type; schemas, `dampkit new`, hints and the guide are made from it.

The range of a key is what its type allows, its unit the tail of its name, so neither is said again.
"""

from __future__ import annotations

from typing import Any

from pydantic import Field

PLAIN_NUMBER = "1"  # a ratio, a share or a count
# Tail of a key -> its unit; of several that fit, the longest
TAILS: dict[str, str] = {
    "n_s2_m2": "N s2/m2",
    "n_s_m": "N s/m",
    "n_mm": "N/mm",
    "n_m": "N/m",
    "nm": "N m",
    "rad_s": "rad/s",
    "deg_s": "deg/s",
    "rad": "rad",
    "m_s2": "m/s2",
    "m_s": "m/s",
    "km_h": "km/h",
    "kg_m3": "kg/m3",
    "kg_m2": "kg m2",
    "mm2_s": "mm2/s",
    "mm2": "mm2",
    "mm": "mm",
    "m": "m",
    "n": "N",
    "kg": "kg",
    "g": "g",
    "ml": "ml",
    "s": "s",
    "hz": "Hz",
    "rpm": "1/min",
    "c": "degC",
    "k": "K",
    "bar": "bar",
    "gpa": "GPa",
    "j": "J",
    "j_k": "J/K",
    "n_k": "N/K",
    "deg": "deg",
    "percent": "%",
    "months": "months",
    "ratio": PLAIN_NUMBER,
    "share": PLAIN_NUMBER,
    "coefficient": PLAIN_NUMBER,
    "probability": PLAIN_NUMBER,
    "swings": PLAIN_NUMBER,
    "variation": PLAIN_NUMBER,
}
_WORDS = ("unit", "how_to_measure", "kinds", "usual", "odd", "unless")


def described(
    text: str,
    example: Any,
    how: str | None = None,
    *,
    unit: str | None = None,
    kinds: tuple[str, ...] = (),
    usual: tuple[float, float] | None = None,
    odd: str | None = None,
    unless: str | None = None,
) -> Any:
    """What a key means, with an example; for what a person writes, `how` it is measured or found.

    `unit` only where the key's tail has none. `kinds`: the kinds of test, unit or spring that the key matters to, all
    where there are none. `usual` values pass without a word, others with a note that asks `odd`.
    `unless`: the section that may be given in its place, where one of both is needed.
    """
    words = (unit, how, list(kinds) or None, None if usual is None else list(usual), odd, unless)
    extra: dict[str, Any] = {name: value for name, value in zip(_WORDS, words, strict=True) if value is not None}
    return Field(description=text, examples=[example], json_schema_extra=extra)


def section(text: str, kinds: tuple[str, ...] = ()) -> Any:
    """What a section is, where its name alone tells it from others of the same shape; `kinds` as of a key."""
    return Field(description=text, json_schema_extra={"kinds": list(kinds)} if kinds else None)


def unit_by_tail(key: str) -> str | None:
    """The unit that a key's name ends in; None where it names none."""
    parts = key.split("_")
    return next((TAILS[tail] for i in range(len(parts)) if (tail := "_".join(parts[i:])) in TAILS), None)


def with_units(schema: dict[str, Any]) -> None:
    """Puts the unit that each key's name ends in into the JSON Schema of a model; its `json_schema_extra`.

    Of the model's words those of its examples in Python are left out.
    """
    if "description" in schema:
        schema["description"] = schema["description"].partition("\n\nExamples\n")[0]
    for key, part in schema.get("properties", {}).items():
        unit = unit_by_tail(key)
        if unit is not None and "unit" not in part and "examples" in part:
            part["unit"] = unit
