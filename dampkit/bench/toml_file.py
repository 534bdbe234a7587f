"""A TOML file that a person wrote becomes a checked model, or one clear error."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from os import PathLike
from pathlib import Path
from typing import Any, TypeVar

from pydantic import BaseModel, ValidationError

from dampkit.bench.gate import A_TOML, check_keys, check_nesting, file_bytes
from dampkit.bench.toml_errors import Written, settings_error
from dampkit.errors import BadSettings

Model = TypeVar("Model", bound=BaseModel)


def load_toml(path: str | PathLike[str], model: type[Model]) -> Model:
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


def declared(source: str | PathLike[str] | Mapping[str, Any] | Model | None, model: type[Model]) -> Model | None:
    """What was declared, from a TOML file, its content as a mapping, or as it is; None stays None.

    Raises BadSettings for anything else: a model of another kind, say.
    """
    where = f"what was given as {model.__name__.removesuffix('Spec').lower()}"
    if isinstance(source, Mapping):
        return _checked(source, model, where)
    if isinstance(source, str | PathLike):
        return load_toml(source, model)
    if source is None or isinstance(source, model):
        return source
    found, expected = (
        f"found a {type(source).__name__}",
        f"a TOML file, its content as a mapping, or a {model.__name__}",
    )
    raise BadSettings(where, found, expected, "give one of them, or leave it out")


def _checked(data: Mapping[str, Any], model: type[Model], where: str, text: str = "") -> Model:
    try:
        return model.model_validate(data)
    except RecursionError:
        raise BadSettings(where, "keys nested too deeply", "sections with keys", "correct the file") from None
    except ValidationError as error:
        raise settings_error(where, Written(data, text), model, error) from None


def toml_text(path: Path) -> str:
    """The text of a TOML file. Raises BadSettings where it is no regular file, too large or not UTF-8."""
    try:
        return file_bytes(path, A_TOML).decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise BadSettings(
            str(path), f"byte {error.start} is not UTF-8 text", "a TOML file saved as UTF-8", "save it as UTF-8"
        ) from None
