"""A declared file to fill in, made from its keys: each with its meaning, unit, range and how it is measured.

What is optional stands behind a `#`; the file loads as it is, or once the keys that are asked for are filled in.
"""

from __future__ import annotations

import textwrap
from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import field, replace
from functools import cached_property
from typing import Any

from dampkit.bench.described import PLAIN_NUMBER
from dampkit.bench.keys import ANY_NAME, EACH, Key
from dampkit.bench.written import toml_value
from dampkit.frozen import frozen

Place = tuple[str, ...]
Values = Mapping[Place, Any]
WIDTH = 110
KIND_KEYS = ("kind", "form")
FOR_EDITORS = """#:schema ./{file}.schema.json
# The line above is for editors that complete keys: dampkit schema {file} > {file}.schema.json
"""
HEAD = """# {file}.toml{of_kind}.
# A line such as `#key = ...` is left out until its # is taken away; where its section is `#[name]`, that # too.
# All values are examples of made-up things: put in your own.
# {asked}
"""


@frozen
class Blank:
    """A file to fill in: its keys, the kinds that it is for, what has been answered."""

    file: str
    keys: tuple[Key, ...]
    kinds: tuple[str, ...] = ()
    values: Values = field(default_factory=dict)

    def filled(self, values: Values) -> Blank:
        return replace(self, values={**self.values, **values})

    @cached_property
    def given(self) -> dict[Place, Any]:
        """What stands in the file: the answers, and the kinds where a key names them."""
        named = {
            key.place: kind
            for key in self.keys
            for kind in self.kinds
            if key.name in KIND_KEYS and kind in key.choices and key.variant in ("", kind) and EACH not in key.place
        }
        return {**named, **self.values}

    @cached_property
    def wanted(self) -> tuple[Key, ...]:
        """The keys that matter to these kinds; of a table in several kinds, those of the chosen one."""
        return tuple(key for key in self.keys if self._matters(key))

    @cached_property
    def asked(self) -> tuple[Key, ...]:
        """The keys without which the file cannot be used."""
        return tuple(key for key in self.wanted if self._needed(key) and key.place not in self.given)

    def _matters(self, key: Key) -> bool:
        if ANY_NAME in key.place or (key.variant and key.variant not in self.kinds):
            return False
        if key.unless and self.is_on((key.unless,)):
            return False
        variants = {kind for one in self.keys for kind in one.variants}
        mine = [kind for kind in self.kinds if kind not in variants]
        asked = (one.kinds for one in self.keys if one.kinds and key.place[: len(one.place)] == one.place)
        return not mine or all(any(kind in kinds for kind in mine) for kinds in asked)

    def _needed(self, key: Key) -> bool:
        if key.is_table and not key.form.startswith("list"):
            return False
        return bool(key.unless) or (key.required and EACH not in key.place and self.is_on(key.place[:-1]))

    def is_on(self, table: Place) -> bool:
        """Whether a table stands in the file; one that is optional only where something is given in it."""
        off = any(key.off and key.place == table[: len(key.place)] for key in self.keys)
        return not off or any(place[: len(table)] == table for place in self.given)


def kinds_of(keys: Collection[Key]) -> tuple[str, ...]:
    """The kinds that a file can be asked for: of a test, a unit, a spring, a linkage."""
    mattering = {kind for key in keys for kind in key.kinds}
    named = [key.choices for key in keys if key.name in KIND_KEYS and mattering and mattering <= set(key.choices)]
    return tuple(
        dict.fromkeys([*(k for choices in named for k in choices), *(v for key in keys for v in key.variants)])
    )


def template(blank: Blank) -> str:
    """The file as TOML text with its comments, for editors the place of its schema among them."""
    needed = ", ".join(f"[{'.'.join(key.place[:-1])}] {key.name}" for key in blank.asked)
    asked = f"To be filled in before use: {needed}." if needed else "Nothing has to be filled in before use."
    kinds = f" of {' and '.join(blank.kinds)}" if blank.kinds else ""
    head = (FOR_EDITORS + HEAD).format(file=blank.file, of_kind=kinds, asked=asked)
    lines = "\n".join(_table((), blank, _Said(set())))
    return f"{head}\n{lines.strip()}\n"


@frozen
class _Said:
    """What has been explained in this file already and is not explained again."""

    texts: set[str]

    def first(self, text: str) -> bool:
        new = text not in self.texts
        self.texts.add(text)
        return new


def _table(place: Place, blank: Blank, said: _Said) -> Iterator[str]:
    """The keys of a table, then the tables in it."""
    inside = [key for key in blank.wanted if key.place[:-1] == place]
    for key in inside:
        if not key.is_table or key.example is not None:
            yield from _key(key, blank, said)
    for key in inside:
        if key.is_table and key.example is None:
            yield from _section(key, blank, said)


def _section(key: Key, blank: Blank, said: _Said) -> Iterator[str]:
    entries = key.form.startswith("list")
    under = (*key.place, EACH) if entries else key.place
    inside = [k for k in blank.wanted if k.place[:-1] == under]
    if key.variants and not inside:
        yield ""
        yield from _comment(f"[{'.'.join(key.place)}] {key.description}", said)
        if not entries:
            yield f"# Its keys hang on its kind: dampkit new {blank.file} --kind {'|'.join(key.variants)}"
        else:
            yield f"# Several sections [[{'.'.join(key.place)}]] of kind {', '.join(key.variants)}, each with the keys of its kind."
        return
    if not inside:
        return
    mark = "" if blank.is_on(key.place) and not entries else "#"
    if entries or any(not k.is_table or k.example is not None for k in inside):
        yield ""
        yield from _comment(key.description, said)
        name = ".".join(key.place)
        yield f"{mark}[[{name}]]" if entries else f"{mark}[{name}]"
    yield from _table(under, blank, said)


def _key(key: Key, blank: Blank, said: _Said) -> Iterator[str]:
    ask = "FILL IN. " if key in blank.asked else ""
    yield from _comment(f"{ask}{key.description} {bounds(key)}".strip(), said)
    yield from _comment(f"  {key.how_to_measure}", said)
    if key.place in blank.given:
        yield f"{key.name} = {toml_value(blank.given[key.place])}"
    else:
        yield f"#{key.name} = {toml_value(key.example)}"


def bounds(key: Key) -> str:
    """Unit, range and choices, in brackets."""
    choices = " | ".join(toml_value(choice) for choice in key.choices) if len(key.choices) > 1 else ""
    unit = key.unit if "number" in key.form and key.unit != PLAIN_NUMBER else ""
    allowed = key.range.replace("any number", "")
    usually = "" if key.usual is None else f"usually {key.usual[0]:g} to {key.usual[1]:g}"
    left_out = "" if key.default in (None, "", []) else f"{toml_value(key.default)} if left out"
    parts = [part for part in (unit, allowed, usually, choices, left_out) if part]
    return f"({'; '.join(parts)})" if parts else ""


def _comment(text: str, said: _Said) -> Sequence[str]:
    if not text.strip() or not said.first(text):
        return []
    indent = "#   " if text.startswith("  ") else "# "
    return textwrap.wrap(text.strip(), WIDTH, initial_indent=indent, subsequent_indent=indent,
                         break_on_hyphens=False)  # fmt: skip
