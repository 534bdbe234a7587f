"""Every key of a declared file or of the result as Markdown, from the models: what it means, unit, range, how measured."""

from __future__ import annotations

from collections.abc import Iterator

from dampkit.bench.described import PLAIN_NUMBER
from dampkit.bench.keys import ANY_NAME, EACH, Key, keys_of
from dampkit.bench.written import toml_value

Place = tuple[str, ...]
SAID = {
    "bench": "how a bench writes its records: columns, units, signs, zero, flex, uncertainty",
    "damper": "the unit on the bench: kind, sizes, oil, gas, arm, valves, and the forces of a known-good one",
    "vehicle": "the corner that the unit is for: masses, spring, linkage, target",
    "inspection": "what eyes and hands found on the unit",
    "costs": "what hours, parts and units cost, to weigh a rebuild against another unit",
    "stock": "drills, springs, shims and oils at hand, so that only what can be made is advised",
    "work": "what was found when a unit was opened, and how it was built again",
    "calibration": "what a bench read against known weights, lengths and temperatures",
}
HELD = {
    "work": "dampkit book work ENTRY WORK.toml",
    "calibration": "dampkit book bench calibrate NAME CALIBRATION.toml",
}


def keys_topic(file: str) -> str:
    parts = "\n".join(_parts(_keys(file), toml=file != "result"))
    return f"{_head(file)}\n\n{parts}"


def _head(file: str) -> str:
    if file == "result":
        return (
            "# Keys of the result\n\nEvery key of what `dampkit analyse --json` writes.\n\n"
            "SI, the unit at the end of the key. An estimate is `{value, low, high}`, a 95 % interval, or `null` where the"
            " test cannot tell; then a remark says why. `[]` stands for every entry of a list. The JSON Schema:"
            " `dampkit schema result`."
        )
    how = f"Used by `{HELD[file]}`." if file in HELD else f"`dampkit new {file} --save FILE` makes one to fill in."
    return (
        f"# Keys of {file}.toml\n\nEvery key of {file}.toml, {SAID[file]}.\n\n{how} All keys may be left out but those marked"
        " needed. What is left out is not guessed: the result says what it could not tell for lack of it."
    )


def _keys(file: str) -> tuple[Key, ...]:
    if file == "work":
        from dampkit.store.build_record import WorkSpec

        return keys_of(WorkSpec.model_json_schema())
    if file == "calibration":
        from dampkit.store.bench_record import CalibrationSpec

        return keys_of(CalibrationSpec.model_json_schema())
    from dampkit.outcome.published import keys

    return keys(file)


def _parts(keys: tuple[Key, ...], toml: bool) -> Iterator[str]:
    """A heading for each table and kind of it, of the result for each first key, and a line for each key in it."""
    tables = {key.place: key for key in keys if key.is_table}
    groups: dict[tuple[Place, str], list[Key]] = {}
    for key in keys:
        if not (toml and key.is_table):
            at = (key.place[:-1], key.variant) if toml else (key.place[:1], "")
            groups.setdefault(at, []).append(key)
    for (place, variant), inside in groups.items():
        yield f"## {_table_name(place, variant) if toml else f'`{place[0]}`'}\n"
        about = tables.get(tuple(part for part in place if part not in (EACH, ANY_NAME)))
        if toml and about is not None and about.description and not variant:
            yield f"{about.description}\n"
        yield "\n".join(_line(key, toml) for key in inside) + "\n"


def _table_name(place: Place, variant: str) -> str:
    """As it stands in the file."""
    if not place:
        return "outside any section"
    name = ".".join(part for part in place if part != EACH)
    return (f"`[[{name}]]`" if place[-1] == EACH else f"`[{name}]`") + (f", {variant}" if variant else "")


def _line(key: Key, toml: bool) -> str:
    """One key as an entry of a list."""
    name = key.name if toml else ".".join(key.place).replace(f".{EACH}", EACH)
    facts = ", ".join(fact for fact in _facts(key, toml) if fact)
    said = [f"- `{name}`: {facts}. {key.description}" if facts else f"- `{name}`: {key.description}"]
    if key.how_to_measure:
        said.append(f"*How:* {key.how_to_measure}")
    if key.kinds:
        said.append(f"*Of:* {', '.join(key.kinds)}.")
    if key.example is not None and not key.is_table:
        said.append(f"*Example:* `{toml_value(key.example)}`")
    return " ".join(said)


def _facts(key: Key, toml: bool) -> Iterator[str]:
    if toml and (key.required or key.unless):
        yield f"needed, or [{key.unless}]" if key.unless else "needed"
    if key.choices:
        yield "one of " + ", ".join(f"`{choice}`" for choice in key.choices)
    elif key.unit and key.is_table:
        yield "estimate"
    elif not key.is_table:
        yield key.form
    yield "" if key.unit in ("", PLAIN_NUMBER) else key.unit
    yield "" if not toml or key.range == "any number" else key.range
    if key.usual is not None:
        yield f"usually {key.usual[0]:g} to {key.usual[1]:g}"
    if toml and key.default not in (None, [], "", {}):
        yield f"`{toml_value(key.default)}` where it is left out"
