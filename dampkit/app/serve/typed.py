"""What a person types in a field as the value of its key, and back."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from dampkit.app.asking import parsed
from dampkit.bench.keys import EACH, Key
from dampkit.bench.written import toml_value

TABLE, ROWS, TEXTS = "list of tables", "list of list of numberss", "list of texts"
SEVERAL = (TABLE, ROWS, TEXTS)  # with a line for each
MOST_COLUMNS = 4


def columns_of(key: Key, keys: Sequence[Key]) -> tuple[Key, ...]:
    """The columns of a table that can be typed with a row a line: few values, a text at most in front of numbers."""
    if key.form != TABLE or key.variants:
        return ()
    found = tuple(one for one in keys if one.place[:-1] == (*key.place, EACH))
    plain = all(one.form == "number" or (one.form == "text" and i == 0) for i, one in enumerate(found))
    return found if plain and len(found) <= MOST_COLUMNS else ()


def value_of(text: str, key: Key, columns: Sequence[Key]) -> Any:
    """As on a terminal, but that quotes are a part of a text here; as it is where it is no such value, for the model to
    refuse."""
    lines = [line.strip() for line in text.splitlines() if line.strip()]
    if columns:
        return [_row(line, columns) for line in lines]
    if key.form == ROWS:
        return [_numbers(line.split()) for line in lines]
    if key.form == TEXTS:
        return lines
    return text if key.form == "text" else parsed(text, key)


def _row(line: str, columns: Sequence[Key]) -> Any:
    parts = line.replace("\t", " ").split()
    behind = len(columns) - 1
    if columns[0].form == "text" and len(parts) > behind:
        parts = [" ".join(parts[: len(parts) - behind]), *parts[len(parts) - behind :]]
    if len(parts) != len(columns):
        return line
    return {
        key.name: part if key.form == "text" else _numbers([part])[0] for key, part in zip(columns, parts, strict=True)
    }


def _numbers(parts: Sequence[str]) -> list[Any]:
    """With a decimal point or comma; what is no number stays a text."""
    found: list[Any] = []
    for part in parts:
        try:
            found.append(float(part.replace(",", ".")))
        except ValueError:
            found.append(part)
    return found


def shown(value: Any, columns: Sequence[Key] = ()) -> str:
    """A value as a person types it; a table with its columns in their order."""
    if value is None:
        return ""
    if columns and isinstance(value, list | tuple) and all(isinstance(row, Mapping) for row in value):
        return "\n".join(" ".join(shown(row.get(key.name)) for key in columns) for row in value)
    if isinstance(value, list | tuple):
        if all(isinstance(one, int | float) for one in value):
            return " ".join(map(shown, value))
        lines = all(isinstance(one, str | list | tuple) for one in value)
        return "\n".join(map(shown, value)) if lines else toml_value(value)
    if isinstance(value, bool):
        return "yes" if value else "no"
    return f"{value:g}" if isinstance(value, float) and float(f"{value:g}") == value else str(value)
