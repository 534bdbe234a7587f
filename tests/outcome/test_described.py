"""Every key that a person writes or a result holds says what it is: meaning, unit, range, example, how to measure it."""

from __future__ import annotations

from importlib import import_module
from typing import Annotated, Any

import jsonschema
import pytest
from pydantic import BaseModel

from dampkit.bench.declared import Declared
from dampkit.bench.described import described, unit_by_tail
from dampkit.bench.keys import Key, keys_of
from dampkit.job import MODELS, model_of
from dampkit.outcome.published import RECORDS
from dampkit.store.bench_record import CalibrationSpec
from dampkit.store.build_record import WorkSpec

WRITTEN: dict[str, type[BaseModel]] = {
    **{kind: model_of(kind) for kind in MODELS},
    "calibration": CalibrationSpec,
    "work": WorkSpec,
}
KEPT: dict[str, type[BaseModel]] = {name: getattr(import_module(m), model) for name, (m, model) in RECORDS.items()}
ALL = {**WRITTEN, **KEPT}


def keys(model: type[BaseModel]) -> tuple[Key, ...]:
    mode: Any = "serialization" if model in KEPT.values() else "validation"
    return keys_of(model.model_json_schema(mode=mode))


def lacks(key: Key, *, written: bool) -> list[str]:
    """What is not said of a key."""
    found = [] if key.description.strip().endswith((".", "?")) else ["a description that is a sentence"]
    if key.is_table:
        return found
    found += [] if key.example is not None else ["an example"]
    found += [] if key.unit or "number" not in key.form else ["a unit, in its name or said"]
    found += [] if unit_by_tail(key.name) in (None, key.unit) else [f"the unit that its name ends in, not {key.unit}"]
    found += [] if not written or key.how_to_measure.strip().endswith((".", "?")) else ["how to measure it"]
    return found + ([] if _is_usual(key) else ["an example that is usual"])


def _is_usual(key: Key) -> bool:
    values = key.example if isinstance(key.example, list) else [key.example]
    return key.usual is None or all(key.usual[0] <= value <= key.usual[1] for value in values)


@pytest.mark.parametrize("name", ALL)
def test_every_key_is_described(name: str) -> None:
    found = {".".join(key.place): said for key in keys(ALL[name]) if (said := lacks(key, written=name in WRITTEN))}
    assert not found


@pytest.mark.parametrize("name", ALL)
def test_every_example_and_default_is_allowed_by_its_own_key(name: str) -> None:
    mode: Any = "serialization" if name in KEPT else "validation"
    schema = ALL[name].model_json_schema(mode=mode)
    for table in (schema, *schema["$defs"].values()):
        for key, part in table.get("properties", {}).items():
            own = jsonschema.Draft202012Validator({**part, "$defs": schema["$defs"]})
            for value in (*part.get("examples", ()), *([part["default"]] if "default" in part else [])):
                assert own.is_valid(value), (key, value)


def test_a_key_without_words_is_found() -> None:
    class Bare(Declared):
        force_n: float = 0.0
        speed: Annotated[float, described("How fast.", 1.0)] = 0.0
        mass_kg: Annotated[float, described("How heavy.", 900.0, "Weigh it.", unit="g", usual=(1, 10))] = 0.0

    force, speed, mass = keys(Bare)
    assert lacks(force, written=True) == ["a description that is a sentence", "an example", "a unit, in its name or said",
                                          "the unit that its name ends in, not ", "how to measure it"]  # fmt: skip
    assert lacks(speed, written=True) == ["a unit, in its name or said", "how to measure it"]
    assert lacks(mass, written=True) == ["the unit that its name ends in, not g", "an example that is usual"]


def test_ranges_are_what_the_types_allow() -> None:
    """Of keys whose ranges the types state in different ways; read off the types by hand."""
    said = {".".join(key.place): key.range for name in WRITTEN for key in keys(WRITTEN[name])}
    assert said["corner.damper_motion_ratio"] == "above 0 to 5"
    assert said["reference.velocity_m_s"] == "above 0 to 20"
    assert said["timing.force_delay_s"] == "from -1 to 1"
    assert said["zero.force_n"] == "any number"
    assert said["rebuild.fails_probability"] == "from 0 to 1"
    assert said["linkage.lean_deg"] == "above -80 below 80"
