"""The JSON Schemas of the declared files and of what commands write as JSON, published as files of the package.

`python -m dampkit.outcome.published` makes them anew from the models; a test fails where they are not as the models are.
"""

from __future__ import annotations

import json
from importlib import import_module
from pathlib import Path
from typing import Any

from pydantic import BaseModel

from dampkit.bench.keys import Key, keys_of
from dampkit.job import BESIDE, MODELS, model_of

FOLDER = Path(__file__).parent / "schemas"
# what commands write as JSON: name -> module and model
RECORDS = {
    "result": ("dampkit.outcome.result", "Result"),
    "need": ("dampkit.outcome.vehicle_record", "NeedResult"),
    "compare": ("dampkit.outcome.side_by_side_record", "CompareRecord"),
    "settings": ("dampkit.outcome.side_by_side_record", "SettingsRecord"),
    "reference": ("dampkit.outcome.side_by_side_record", "ReferenceRecord"),
}
NAMES = (*RECORDS, *MODELS, *BESIDE)
VERSION = 1  # of each; changes when a key is renamed or dropped, which is never within a number
DIALECT = "https://json-schema.org/draft/2020-12/schema"


def schema_of(name: str) -> dict[str, Any]:
    """The published schema of a record or of one kind of declared file."""
    schema: dict[str, Any] = json.loads(place_of(name).read_text(encoding="utf-8"))
    return schema


def schema_text(name: str) -> str:
    """The same as JSON text to read."""
    return json.dumps(schema_of(name), indent=1, ensure_ascii=False) + "\n"


def keys(name: str) -> tuple[Key, ...]:
    """Every key of the result, or of one kind of declared file: meaning, unit, range, example, how to measure it."""
    return keys_of(schema_of(name))


def place_of(name: str) -> Path:
    return FOLDER / f"{name}.json"


def _model(name: str) -> type[BaseModel]:
    if name not in RECORDS:
        declared: type[BaseModel] = model_of(name)
        return declared
    module, model = RECORDS[name]
    found: type[BaseModel] = getattr(import_module(module), model)
    return found


def made_from_models(name: str) -> str:
    """The schema as the models have it now, as the text of its file: a line a definition."""
    schema = _model(name).model_json_schema(mode="serialization" if name in RECORDS else "validation")
    title = f"{name.capitalize()} of dampkit" if name in RECORDS else f"{name}.toml of dampkit"
    whole = {"$schema": DIALECT, "$id": f"urn:dampkit:schema:{name}:{VERSION}", **schema, "title": title}
    for table in (whole, *whole["$defs"].values()):
        for part in table.get("properties", {}).values():
            part.pop("title", None)  # the key itself in capitals
    return _in_lines(whole, levels=2) + "\n"


def _in_lines(part: Any, *, levels: int) -> str:
    if levels == 0 or not isinstance(part, dict):
        return json.dumps(part, ensure_ascii=False)
    rows = ",\n".join(f"{json.dumps(name)}: {_in_lines(inner, levels=levels - 1)}" for name, inner in part.items())
    return f"{{\n{rows}\n}}"


def main() -> None:
    for name in NAMES:
        place_of(name).write_text(made_from_models(name), encoding="utf-8", newline="\n")


if __name__ == "__main__":
    main()
