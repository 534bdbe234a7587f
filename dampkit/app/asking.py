"""Questions on a terminal, one a key of a declared file: what is needed first, what is optional a section at a time."""

from __future__ import annotations

import sys
from collections.abc import Callable
from dataclasses import replace
from typing import Any

import typer
from pydantic import BaseModel, ValidationError

from dampkit.app.say import say
from dampkit.bench.keys import EACH, Key
from dampkit.bench.sense import doubt
from dampkit.bench.template import KIND_KEYS, Blank, bounds
from dampkit.bench.toml_file import declared
from dampkit.bench.written import toml_value
from dampkit.frozen import frozen
from dampkit.job import model_of

YES, NO = ("y", "yes", "true"), ("n", "no", "false")


def _read_line() -> str:
    line = sys.stdin.readline()
    if not line:
        raise typer.Abort  # the input has ended
    return line.strip()


@frozen
class Terminal:
    """Where questions are put and answers come from; standard output stays free for the file."""

    read: Callable[[], str] = _read_line

    def tell(self, text: str) -> None:
        say(text, err=True)

    def answer(self, question: str) -> str:
        say(question, err=True, nl=False)
        return self.read()

    def agrees(self, question: str) -> bool:
        return self.answer(f"{question} [y/N] ").lower() in YES


def ask_all(blank: Blank, terminal: Terminal) -> Blank:
    """The file with its answers. Raises BadSettings where they do not go together."""
    terminal.tell(f"{blank.file}.toml. An empty answer takes what is in brackets.")
    model = model_of(blank.file)
    blank = _with_kind(blank, model, terminal)
    while blank.asked:
        blank = _with_answer(blank, blank.asked[0], model, terminal)
    for table in _sections(blank):
        blank = _with_section(blank, table, model, terminal)
    declared(_nested(blank), model)
    return blank


def _with_kind(blank: Blank, model: type[BaseModel], terminal: Terminal) -> Blank:
    """The kind is asked before anything else, as the other questions hang on it."""
    for key in blank.wanted:
        if (
            key.name in KIND_KEYS
            and len(key.choices) > 1
            and key.place not in blank.given
            and blank.is_on(key.place[:-1])
        ):
            blank = _with_answer(blank, key, model, terminal)
            chosen = blank.values.get(key.place)
            blank = blank if chosen is None else replace(blank, kinds=(*blank.kinds, chosen))
    return blank


def _sections(blank: Blank) -> list[Key]:
    """Sections with something left to ask, the lists of sections left out."""
    return [key for key in blank.wanted if key.is_table and EACH not in key.place and _open(blank, key)]


def _open(blank: Blank, table: Key) -> list[Key]:
    inside = (key for key in blank.wanted if key.place[:-1] == table.place and not key.is_table)
    return [key for key in inside if key.place not in blank.given]


def _with_section(blank: Blank, table: Key, model: type[BaseModel], terminal: Terminal) -> Blank:
    count = len(_open(blank, table))
    said = "the one question" if count == 1 else f"the {count} questions"
    if not terminal.agrees(f"\n[{'.'.join(table.place)}] {table.description}\nAnswer {said} of this section?"):
        return blank
    for key in sorted(_open(blank, table), key=lambda key: not key.required):
        blank = _with_answer(blank, key, model, terminal, needed=key.required)
    return blank


def _with_answer(
    blank: Blank, key: Key, model: type[BaseModel], terminal: Terminal, needed: bool | None = None
) -> Blank:
    """One question, put again until its answer can be used."""
    needed = key in blank.asked if needed is None else needed
    otherwise = "needed" if needed else "leave out" if key.default in (None, "", []) else f"{toml_value(key.default)}"
    terminal.tell(f"\n{key.description} {bounds(key)}\n  {key.how_to_measure}")
    while True:
        text = terminal.answer(f"{key.name} [{otherwise}]: ")
        if not text and not needed:
            return blank
        if not text:
            other = f", or start again with --kind for a [{key.unless}]" if key.unless else ""
            terminal.tell(f"  This is needed: such as {toml_value(key.example)}{other}.")
            continue
        tried = blank.filled({key.place: parsed(text, key)})
        wrong = _wrong(tried, key, model) or _doubted(tried.values[key.place], key, terminal)
        if not wrong:
            return tried
        terminal.tell(f"  {wrong}")


def parsed(text: str, key: Key) -> Any:
    """What a person typed as the value that the key holds; as it is where it is none, for the model to refuse."""
    if key.form == "yes or no":
        return text.lower() in YES if text.lower() in (*YES, *NO) else text
    if "number" not in key.form:
        return text.strip("\"'")
    bare = text.strip("[]")
    parts = bare.split() if " " in bare.strip() else bare.split(",") if "list" in key.form else [bare]
    whole = "whole" in key.form
    try:
        values = [
            int(part) if whole else float(part.strip(" ,;").replace(",", ".")) for part in parts if part.strip(" ,;")
        ]
    except ValueError:
        return text
    return values[0] if len(values) == 1 and not key.form.startswith("list") else values


def _wrong(blank: Blank, key: Key, model: type[BaseModel]) -> str:
    """What the model has against this answer; what is still missing is no fault of it."""
    try:
        model.model_validate(_nested(blank))
    except ValidationError as error:
        for one in error.errors(include_url=False):
            at = tuple(part for part in one["loc"] if isinstance(part, str) and part in key.place)
            if at and one["type"] != "missing" and key.place[: len(at)] == at:
                return f"{str(one['msg']).removeprefix('Value error, ')}. {bounds(key)}"
    return ""


def _doubted(value: Any, key: Key, terminal: Terminal) -> str:
    """Why an unusual value is to be typed again; nothing where it stands."""
    for one in value if isinstance(value, list) else [value]:
        asked = doubt(one, key.unit, key.usual, key.odd) if isinstance(one, int | float) else ""
        if asked:
            return "" if terminal.agrees(f"  {one:g}: {asked} Keep it?") else "Once more, then."
    return ""


def _nested(blank: Blank) -> dict[str, Any]:
    """The answers as the tables of a file."""
    whole: dict[str, Any] = {}
    for place, value in blank.given.items():
        table = whole
        for part in place[:-1]:
            table = table.setdefault(part, {})
        table[place[-1]] = value
    return whole
