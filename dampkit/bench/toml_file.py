"""A TOML file that a person wrote becomes a checked model, or one clear error."""

from __future__ import annotations

import difflib
import re
import tomllib
from collections.abc import Mapping
from pathlib import Path
from typing import Any, TypeVar

from pydantic import BaseModel, ValidationError

from dampkit.bench.gate import A_TOML, check_keys, check_nesting, file_bytes
from dampkit.errors import BadSettings

Model = TypeVar("Model", bound=BaseModel)
Place = tuple[str | int, ...]
PLAIN = {
    "a valid ": "a ",
    "a tuple": "a list of numbers such as [0.1, 0.2]",
    "a string": "text in quotes",
    "greater than": "a number greater than",
    "less than": "a number less than",
}


def load_toml(path: str | Path, model: type[Model]) -> Model:
    """Read and check a TOML file.

    Raises BadSettings naming file, line, key, what was found and what is allowed.
    """
    path = Path(path)
    return from_text(toml_text(path), str(path), model)


def from_text(text: str, where: str, model: type[Model]) -> Model:
    """Check the text of a TOML file; `where` names it in an error. Raises as `load_toml`."""
    try:
        check_nesting(text, where, BadSettings)
        check_keys(text, where)
        data = tomllib.loads(text)
    except (ValueError, RecursionError) as error:
        raise BadSettings(
            where,
            f"not valid TOML: {' '.join(str(error).split())[:200]}",
            'lines such as  key = "text"  or  key = 1.5  under a [section]',
            "correct that line; numbers take a decimal point, text takes quotes",
        ) from None
    return _checked(data, model, where, text)


def declared(source: str | Path | Mapping[str, Any] | Model | None, model: type[Model]) -> Model | None:
    """What was declared, from a TOML file, its content as a mapping, or as it is; None stays None."""
    if isinstance(source, Mapping):
        return _checked(source, model, f"what was given as {model.__name__}")
    return load_toml(source, model) if isinstance(source, str | Path) else source


def _checked(data: Mapping[str, Any], model: type[Model], where: str, text: str = "") -> Model:
    try:
        return model.model_validate(data)
    except RecursionError:
        raise BadSettings(where, "keys nested too deeply", "sections with keys", "correct the file") from None
    except ValidationError as error:
        raise _settings_error(where, text, model, error) from None


def toml_text(path: Path) -> str:
    """The text of a TOML file. Raises BadSettings where it is no regular file, too large or not UTF-8."""
    try:
        return file_bytes(path, A_TOML).decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise BadSettings(
            str(path), f"byte {error.start} is not UTF-8 text", "a TOML file saved as UTF-8", "save it as UTF-8"
        ) from None


def _settings_error(where: str, text: str, model: type[BaseModel], error: ValidationError) -> BadSettings:
    problems = error.errors(include_url=False)
    first = problems[0]
    place: Place = first["loc"] or _place_in(str(first["msg"]))
    found, expected = _problem(first, model)
    more = f" (and {len(problems) - 1} more)" if len(problems) > 1 else ""
    do = "correct the key" if first["type"] == "extra_forbidden" else "correct the value"
    if first["type"] == "missing":
        do = "add it"
    return BadSettings(f"{where}{_line_of(text, place)}, {_written(place)}", found + more, expected, do)


def _problem(problem: Any, model: type[BaseModel]) -> tuple[str, str]:
    """What was found and what is allowed."""
    kind, place, value = problem["type"], problem["loc"], problem["input"]
    if kind == "extra_forbidden":
        known = _known_keys(model, place[:-1])
        near = difflib.get_close_matches(str(place[-1]), known, n=1)
        hint = f"{near[0]!r}, perhaps? Known" if near else "known"
        what = "key" if len(place) > 1 else "section"
        return f"unknown {what} {place[-1]!r}", f"{hint} here: {', '.join(known) or 'none'}"
    if kind == "missing":
        return "this is missing", "a value; the analysis needs it"
    message = str(problem["msg"]).removeprefix("Value error, ").removeprefix("Input should be ")
    if "instance of" in message:
        return f"found {_short(value)}", f"a section: a line [{place[-1]}] with its keys below"
    if not place or isinstance(value, Mapping):
        found, _, expected = message.partition("; expected ")
        return found, expected or "values that fit together"
    for formal, plain in PLAIN.items():
        message = message.replace(formal, plain)
    return f"found {_short(value)}", message


def _place_in(message: str) -> Place:
    """Section and key that an error about several of them names first: `[corner] wheel_rate_n_mm and ...`."""
    named = re.match(r"Value error, \[(\w+)\] (\w+)", message)
    return named.groups() if named else ()


def _short(value: object) -> str:
    try:
        text = repr(value)
    except (ValueError, RecursionError):  # thousands of digits or brackets
        return "what is too long to show"
    return text if len(text) <= 60 else text[:57] + "..."


def _known_keys(model: type[BaseModel], place: Place) -> list[str]:
    for part in place:
        field = model.model_fields.get(str(part))
        inner = _model_in(field.annotation) if field else None
        if inner is None:
            return []
        model = inner
    return list(model.model_fields)


def _model_in(annotation: Any) -> type[BaseModel] | None:
    candidates = [annotation, *getattr(annotation, "__args__", ())]
    return next((c for c in candidates if isinstance(c, type) and issubclass(c, BaseModel)), None)


def _written(place: Place) -> str:
    """As a person would write it: `[signs] force_positive`, `[reference] velocity_m_s, value 2`."""
    if not place:
        return "the file as a whole"
    words = [f"[{place[0]}]" if len(place) > 1 else str(place[0])]
    words += [f"value {part + 1}" if isinstance(part, int) else str(part) for part in place[1:]]
    return " ".join(words)


def _line_of(text: str, place: Place) -> str:
    """`:12` where the key or, failing that, its section stands in the file; nothing where it is not written."""
    keys = [str(part) for part in place if isinstance(part, str)]
    inside, line = not keys[1:], ""
    for number, row in enumerate(text.splitlines(), start=1):
        bare = row.split("#")[0].strip()
        if bare.startswith("["):
            inside = bare.strip("[] ") == keys[0] if keys else False
            line = f":{number}" if inside else line
        elif keys and inside and bare.partition("=")[0].strip().strip('"') == keys[-1]:
            return f":{number}"
    return line
