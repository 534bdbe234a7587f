"""Everything that is wrong with a declared file, as one error: where, what was found, what is allowed, what to type."""

from __future__ import annotations

import difflib
import re
from collections.abc import Mapping, Sequence
from typing import Any

from pydantic import BaseModel, ValidationError

from dampkit.bench.described import PLAIN_NUMBER
from dampkit.bench.keys import EACH, Key, keys_of
from dampkit.bench.sense import doubt
from dampkit.bench.written import toml_value
from dampkit.errors import BadSettings
from dampkit.frozen import frozen

Place = tuple[str | int, ...]
MOST = 8  # problems told at once; a file with more is of another kind
MOST_SENSIBLE = 1e12  # no value of any unit is beyond it
PLAIN = {
    "a valid ": "a ",
    "a tuple": "a list of numbers such as [0.1, 0.2]",
    "a string": "text in quotes",
    "greater than": "a number greater than",
    "less than": "a number less than",
}


@frozen
class Written:
    """What a file holds, and its text, where there is one."""

    data: Mapping[str, Any]
    text: str = ""


@frozen
class Problem:
    place: Place
    found: str
    expected: str
    do: str


def settings_error(where: str, written: Written, model: type[BaseModel], error: ValidationError) -> BadSettings:
    """All problems of a file; the first one's line stands behind the file's name, where an editor finds it."""
    problems = problems_of(written, model, error)
    told, more = problems[:MOST], len(problems) - MOST
    first = f"{where}{_line_of(written.text, told[0].place)}, {_named(told[0].place)}"
    if len(problems) == 1:
        return BadSettings(first, told[0].found, told[0].expected, told[0].do)
    found = [
        told[0].found,
        *(f"{_line_of(written.text, p.place, 'line ')}{_named(p.place)}: {p.found}" for p in told[1:]),
    ]
    tail = f"; and {more} more" if more > 0 else ""
    return BadSettings(
        first, _numbered(found) + tail, _numbered([p.expected for p in told]), _numbered([p.do for p in told])
    )


def problems_of(written: Written, model: type[BaseModel], error: ValidationError) -> list[Problem]:
    """Each thing that is wrong, by its place: for an error as a whole, or for a form with its fields."""
    keys = keys_of(model.model_json_schema())
    by_place: dict[Place, list[Any]] = {}
    found = error.errors(include_url=False)
    inside = {one["loc"][:-1] for one in found}  # a list all of whose values are wrong is not too short as well
    for one in found:
        if one["type"] == "too_short" and one["loc"] in inside:
            continue
        by_place.setdefault(_place_of(one, written.data), []).append(one)
    return [_problem(place, ones, keys, written.text) for place, ones in by_place.items()]


def _numbered(texts: Sequence[str]) -> str:
    return "; ".join(f"({i}) {text}" for i, text in enumerate(texts, start=1))


def _place_of(one: Any, data: Mapping[str, Any]) -> Place:
    """Where in the file a problem is, without the marks that pydantic leaves of the choices it tried."""
    place: list[str | int] = []
    here: Any = data
    for i, part in enumerate(one["loc"]):
        if _holds(here, part):
            here = here[part]
        elif not (one["type"] == "missing" and i == len(one["loc"]) - 1):
            continue
        place.append(part)
    return tuple(place) or _place_in(str(one["msg"]))


def _holds(here: Any, part: str | int) -> bool:
    return part in here if isinstance(here, Mapping) else isinstance(here, list | tuple) and isinstance(part, int)


def _place_in(message: str) -> Place:
    """Section and key that an error about several of them names first: `[corner] wheel_rate_n_mm and ...`."""
    named = re.match(r"Value error, \[(\w+)\] (\w+)", message)
    return named.groups() if named else ()


def _problem(place: Place, ones: Sequence[Any], keys: Sequence[Key], text: str) -> Problem:
    one = ones[0]
    kind, value = one["type"], one["input"]
    if kind == "extra_forbidden":
        return _unknown(place, keys, text)
    key = _key_at(place, keys)
    if kind == "missing":
        return _missing(place, key, keys)
    message = str(one["msg"]).removeprefix("Value error, ").removeprefix("Input should be ")
    if "instance of" in message:
        expected = f"a section: a line [{place[-1]}] with its keys below"
        return Problem(place, f"found {_short(value)}", expected, "correct the value")
    if not place or isinstance(value, Mapping):
        found, _, expected = message.partition("; expected ")
        return Problem(place, found, expected or "values that fit together", _one_of_both(found, keys))
    for formal, plain in PLAIN.items():
        message = message.replace(formal, plain)
    if key is not None and len(ones) > 1:
        message = _allowed(key)  # of several ways to write it, none fits
    return Problem(place, f"found {_short(value)}", message, _to_type(key, value))


def _one_of_both(found: str, keys: Sequence[Key]) -> str:
    missing = re.findall(r"\[(\w+)\] (\w+) and \[\w+\] are both missing", found)
    lines = [_line(key) for place in missing if (key := _key_at(place, keys)) is not None]
    if lines:
        return f"add one of the two, for example:  {'  and  '.join(lines)}"
    return "take one of the two out" if found.endswith("both given") else "correct the value"


def _to_type(key: Key | None, value: Any) -> str:
    if key is None or key.example is None:
        return "correct the value"
    number = isinstance(value, int | float) and not isinstance(value, bool) and abs(value) < MOST_SENSIBLE
    asked = doubt(float(value), key.unit, key.usual, key.odd) if number else ""
    return f"write, for example,  {_line(key)}" + (f"; {asked.rstrip('.')}" if asked else "")


def _missing(place: Place, key: Key | None, keys: Sequence[Key]) -> Problem:
    if key is None:
        return Problem(place, "this is missing", "a value; the analysis needs it", "add it")
    if not key.is_table:
        do = f"add  {_line(key)}  with your own value: {key.description.rstrip('.')}"
        return Problem(place, "this is missing", f"a value; the analysis needs it ({_allowed(key)})", do)
    several = key.form.startswith("list")
    under = (*key.place, EACH) if several else key.place
    inside = [k for k in keys if k.required and k.place[:-1] == under]
    name = f"[[{'.'.join(key.place)}]]" if several else f"[{'.'.join(key.place)}]"
    lines = ", ".join(_line(k) for k in inside)
    return Problem(
        place, "this is missing", f"a section: a value for each of {', '.join(k.name for k in inside)}",
        f"add a line {name} and below it, with your own values, {lines}",
    )  # fmt: skip


def _unknown(place: Place, keys: Sequence[Key], text: str) -> Problem:
    """A key that is not known here: misspelt, or in the wrong section."""
    name, at = str(place[-1]), _table(place[:-1])
    here = [k.name for k in keys if _table(k.place[:-1]) == at]
    elsewhere = {k.name: k for k in keys if k.name not in here and not k.is_table}
    near = difflib.get_close_matches(name, here, n=1) or _same_start(name, here)
    what = "key" if len(place) > 1 else "section"
    if name in elsewhere:
        own = elsewhere[name]
        section = ".".join(own.place[:-1])
        belongs = f"{name} under [{section}]" if section else f"{name} above the first section"
        marked = section and re.search(rf"(?m)^#\s*\[{re.escape(section)}\]", text)
        do = f"take the # from the line #[{section}]" if marked else f"move it: {belongs}"
        return Problem(place, f"unknown {what} {name!r}", belongs, do)
    if near:
        key = next(k for k in keys if k.name == near[0] and _table(k.place[:-1]) == at)
        do = f"correct the key: [{near[0]}]" if key.is_table else f"correct the key, for example:  {_line(key)}"
        return Problem(place, f"unknown {what} {name!r}", f"{near[0]!r}, perhaps?", do)
    far = difflib.get_close_matches(name, list(elsewhere), n=1)
    hint = f"; {far[0]} is a key of [{'.'.join(elsewhere[far[0]].place[:-1])}]" if far else ""
    return Problem(
        place,
        f"unknown {what} {name!r}",
        f"known here: {', '.join(dict.fromkeys(here)) or 'none'}{hint}",
        "correct the key, or take it out",
    )


def _same_start(name: str, known: Sequence[str]) -> list[str]:
    """The one key that begins so: its unit was left out, or another one written."""
    stem = name.rpartition("_")[0] or name
    found = [k for k in dict.fromkeys(known) if k.startswith((f"{name}_", f"{stem}_")) and len(stem) > 2]
    return found if len(found) == 1 else []


def _line(key: Key) -> str:
    return f"{key.name} = {toml_value(key.example)}"


def _allowed(key: Key) -> str:
    if key.choices:
        return "one of " + ", ".join(key.choices)
    unit = "" if key.unit == PLAIN_NUMBER else key.unit
    return " ".join(part for part in (f"a {key.form}", key.range, unit) if part)


def _key_at(place: Place, keys: Sequence[Key]) -> Key | None:
    wanted = _table(place)
    return next((key for key in keys if _table(key.place) == wanted), None)


def _table(place: Sequence[str | int]) -> tuple[str, ...]:
    """A place without the number of an entry in a list."""
    return tuple(str(part) for part in place if isinstance(part, str) and part != "[]")


def _short(value: object) -> str:
    try:
        text = repr(value)
    except (ValueError, RecursionError):  # thousands of digits or brackets
        return "what is too long to show"
    return text if len(text) <= 60 else text[:57] + "..."


def _named(place: Place) -> str:
    """As a person would write it: `[signs] force_positive`, `[reference] velocity_m_s, value 2`."""
    if not place:
        return "the file as a whole"
    words = [f"[{place[0]}]" if len(place) > 1 else str(place[0])]
    words += [f"value {part + 1}" if isinstance(part, int) else str(part) for part in place[1:]]
    return " ".join(words)


def _line_of(text: str, place: Place, before: str = ":") -> str:
    """`:12` where the key or, failing that, its section stands in the file; nothing where it is not written."""
    keys = [str(part) for part in place if isinstance(part, str)]
    inside, line = not keys[1:], ""
    after = "" if before == ":" else ", "
    for number, row in enumerate(text.splitlines(), start=1):
        bare = row.split("#")[0].strip()
        if bare.startswith("["):
            inside = bare.strip("[] ") == ".".join(keys[:-1] or keys) or (bool(keys) and bare.strip("[] ") == keys[0])
            line = f"{before}{number}{after}" if inside else line
        elif keys and inside and bare.partition("=")[0].strip().strip('"') == keys[-1]:
            return f"{before}{number}{after}"
    return line
