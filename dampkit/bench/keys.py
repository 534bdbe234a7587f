"""Every key of a declared file or of a result, in order, as its JSON Schema has it: for schemas, `new`, hints, guide."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from dampkit.frozen import frozen

Schema = Mapping[str, Any]
EACH, ANY_NAME = "[]", "<name>"  # in a key's place: every entry of a list; a name that the person chooses
_BOUNDS = ("minimum", "exclusiveMinimum", "maximum", "exclusiveMaximum")


@frozen
class Key:
    """One key. `place` are the tables it stands in and its own name; `variant` the kind that its table is of, or "".

    `usual` values pass without a word, others are asked about by `odd`; `kinds` are those that it matters to.
    """

    place: tuple[str, ...]
    variant: str
    description: str
    unit: str
    range: str
    example: Any
    how_to_measure: str
    required: bool
    default: Any
    form: str  # number, whole number, text, yes or no, one of, list of numbers, table, list of tables
    choices: tuple[str, ...] = ()
    kinds: tuple[str, ...] = ()
    usual: tuple[float, float] | None = None
    odd: str = ""
    variants: tuple[str, ...] = ()  # of a table that comes in several kinds
    unless: str = ""  # the section that may stand in its place; one of both is needed
    off: bool = False  # a table that says something even when nothing stands in it, so it is left out until wanted

    @property
    def name(self) -> str:
        return self.place[-1]

    @property
    def is_table(self) -> bool:
        return self.form.endswith(("table", "tables"))


def keys_of(schema: Schema) -> tuple[Key, ...]:
    """All keys, tables before what stands in them, in the order of the models."""
    return tuple(_keys(schema, schema, (), ""))


def _keys(node: Schema, whole: Schema, place: tuple[str, ...], variant: str) -> Iterator[Key]:
    for name, part in node.get("properties", {}).items():
        here = (*place, name)
        tables, into = _tables(part, whole, here)
        required = name in node.get("required", ())
        yield _key(here, variant, part, tables, required)
        if "examples" in part and not into[len(here) :]:
            continue  # an estimate, say: one thing, however it is written
        for kind, table in tables.items():
            yield from _keys(table, whole, into, kind if len(tables) > 1 else variant)


def _tables(part: Schema, whole: Schema, place: tuple[str, ...]) -> tuple[dict[str, Schema], tuple[str, ...]]:
    """The tables that stand under a key, by their kind, and where their keys stand."""
    found: dict[str, Schema] = {}
    for option in _options(part):
        if "items" in option:
            return _tables(option["items"], whole, (*place, EACH))
        if isinstance(option.get("additionalProperties"), Mapping):
            return _tables(option["additionalProperties"], whole, (*place, ANY_NAME))
        if "$ref" in option:
            table = whole["$defs"][option["$ref"].rpartition("/")[2]]
            kind = table.get("properties", {}).get("kind", {}).get("const", table.get("title", ""))
            found[kind] = table
    return found, place


def _options(part: Schema) -> list[Schema]:
    """What a value may be, nothing left out but null."""
    options = part.get("anyOf") or part.get("oneOf") or [part]
    flat = [inner for option in options for inner in (_options(option) if option is not part else [option])]
    return [option for option in flat if option.get("type") != "null"]


def _key(place: tuple[str, ...], variant: str, part: Schema, tables: dict[str, Schema], required: bool) -> Key:
    options = _options(part)
    words = part.get("description") or next((t.get("description", "") for t in tables.values()), "")
    if len(tables) > 1:
        words = f"One of the kinds {', '.join(tables)}."
    usual = part.get("usual")
    return Key(
        place=place,
        variant=variant,
        description=words,
        unit=part.get("unit", ""),
        range=_range(options),
        example=part.get("examples", [None])[0],
        how_to_measure=part.get("how_to_measure", ""),
        required=required,
        default=None if tables else part.get("default"),
        form=_form(options),
        choices=tuple(c for option in options for c in option.get("enum", [option["const"]] if "const" in option else [])),
        kinds=tuple(part.get("kinds", ())),
        usual=None if usual is None else (float(usual[0]), float(usual[1])),
        odd=part.get("odd", ""),
        variants=tuple(tables) if len(tables) > 1 else (),
        unless=part.get("unless", ""),
        off=bool(tables) and "default" in part and part["default"] is None,
    )  # fmt: skip


_PLAIN = {"number": "number", "integer": "whole number", "string": "text", "boolean": "yes or no", "object": "table"}


def _form(options: list[Schema]) -> str:
    names = []
    for option in options:
        if "enum" in option or "const" in option:
            names.append("one of")
        elif option.get("type") == "array":
            inner = _form(_options(option.get("items", {}))) if option.get("items") else "number"
            names.append(f"list of {inner}s")
        else:
            names.append(_PLAIN.get(option.get("type", "object"), "table"))
    return " or ".join(dict.fromkeys(names))


def _range(options: list[Schema]) -> str:
    """What the type allows, in words: `above 0, at most 500`; "any number" where it bounds nothing, "" for no number."""
    said: list[str] = []
    numeric = False
    for option in options:
        inner = (
            option.get("items") or (option.get("prefixItems") or [{}])[0] if option.get("type") == "array" else option
        )
        for bound in _options(inner):
            numeric |= bound.get("type") in ("number", "integer")
            low, above, high, below = (bound.get(name) for name in _BOUNDS)
            said += [f"from {low:g}"] if low is not None else [f"above {above:g}"] if above is not None else []
            said += [f"to {high:g}"] if high is not None else [f"below {below:g}"] if below is not None else []
    return " ".join(dict.fromkeys(said)) or ("any number" if numeric else "")
