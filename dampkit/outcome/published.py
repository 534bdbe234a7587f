"""The JSON Schemas of the six declared files and of the result, published as files of the package.

`python -m dampkit.outcome.published` makes them anew from the models; a test fails where they are not as the models are.
"""

from __future__ import annotations

import json
from importlib import import_module
from pathlib import Path
from typing import Any

from dampkit.job import MODELS

FOLDER = Path(__file__).parent / "schemas"
RESULT = "result"
NAMES = (RESULT, *MODELS)
VERSION = 1  # of each; changes when a key is renamed or dropped, which is never within a number
DIALECT = "https://json-schema.org/draft/2020-12/schema"


def schema_text(name: str) -> str:
    """The published schema of the result or of one kind of declared file, as JSON text."""
    return place_of(name).read_text(encoding="utf-8")


def schema_of(name: str) -> dict[str, Any]:
    """The same, read."""
    schema: dict[str, Any] = json.loads(schema_text(name))
    return schema


def place_of(name: str) -> Path:
    return FOLDER / f"{name}.json"


def made_from_models(name: str) -> str:
    """The schema as the models have it now, as JSON text."""
    module, model = ("dampkit.outcome.result", "Result") if name == RESULT else MODELS[name]
    mode = "serialization" if name == RESULT else "validation"
    schema = getattr(import_module(module), model).model_json_schema(mode=mode)
    title = "Result of dampkit" if name == RESULT else f"{name}.toml of dampkit"
    whole = {"$schema": DIALECT, "$id": f"urn:dampkit:schema:{name}:{VERSION}", **schema, "title": title}
    for table in (whole, *whole["$defs"].values()):
        for part in table.get("properties", {}).values():
            part.pop("title", None)  # the key itself in capitals
    return json.dumps(whole, indent=1, ensure_ascii=False) + "\n"


def main() -> None:
    for name in NAMES:
        place_of(name).write_text(made_from_models(name), encoding="utf-8", newline="\n")


if __name__ == "__main__":
    main()
