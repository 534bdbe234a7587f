"""TOML that is written, or written into what a person wrote, whose comments and order stay."""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping, Sequence
from typing import Any

Place = tuple[str, ...]  # the names of a section, outer first; () is the top of the file


def written_into(
    text: str,
    sections: Mapping[Place, Mapping[str, Any]],
    *,
    drop: Iterable[Place] = (),
    notes: Mapping[Place, Sequence[str]] | None = None,
) -> str:
    """The TOML with these keys in it, where they stood before if they did; first what is in `drop` is taken out.

    `notes` are lines of comment for sections that are begun here.
    """
    import tomlkit  # takes long to import, and is seldom needed

    document = tomlkit.parse(text)
    for *outer, name in drop:
        _taken_out(document, outer, name)
    for place, keys in {(): {}, **sections}.items():
        lines = (notes or {}).get(place, ())
        section = _section(document, place if keys else ())
        for line in lines if not len(section) else ():
            section.add(tomlkit.comment(line))
        section.update(keys)
    return str(tomlkit.dumps(document)).rstrip() + "\n"


def _section(within: Any, place: Iterable[str]) -> Any:
    import tomlkit

    for name in place:
        if name not in within:
            within[name] = tomlkit.table()
        within = within[name]
    return within


def _taken_out(within: Any, outer: Iterable[str], name: str) -> None:
    for section in outer:
        if section not in within:
            return
        within = within[section]
    within.pop(name, None)


def toml_value(value: Any) -> str:
    """Text, number, yes or no, list or table on one line."""
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, str):
        return json.dumps(value, ensure_ascii=False).replace("\x7f", "\\u007f")
    if isinstance(value, list | tuple):
        return "[" + ", ".join(toml_value(v) for v in value) + "]"
    if isinstance(value, Mapping):
        return "{ " + ", ".join(f"{toml_key(k)} = {toml_value(v)}" for k, v in value.items()) + " }"
    return repr(value)


def toml_key(name: str) -> str:
    bare = name.isascii() and name.replace("_", "").replace("-", "").isalnum()
    return name if bare else toml_value(name)
