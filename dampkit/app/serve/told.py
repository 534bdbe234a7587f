"""What the rooms say to whoever types commands and files, said to whoever sits at the page: where on it to go."""

from __future__ import annotations

import re
from functools import cache
from typing import Any

from dampkit.bench.described import PLAIN_NUMBER, TAILS
from dampkit.errors import DampkitError
from dampkit.job import MODELS
from dampkit.outcome.published import keys

# a command or an option, as a pattern -> what to do or what it is called here; whole sentences first
COMMANDS = {
    r"see `dampkit book [\w-]+ list`, or add it with `dampkit book [\w-]+ add`": "look in the Library, or add it there",
    r"write one with `dampkit new workshop`, add it with `dampkit book workshop add`": "fill it in under Library, The workshop itself",
    r"hold the settings side by side with `dampkit settings`": "hold the settings side by side, from the page of their records",
    r"dampkit analyse .* NEW\.csv, with the same bench, damper and vehicle files": "add the new record to those of this test, under Record",
    r"write the answers into the files and run the same command again": "fill the answers in under their steps and look at the verdict again",
    r"the page, by `dampkit book show --report`,": "the page of the entry",
    r"run `dampkit book check`": "press Is the book whole? under Book, Copies of the book",
    r"look (?:it up|for it) with `dampkit book (?:list|find)`": "look for it under Book",
    r"made by `dampkit book export`": "that the Copies of another book gave",
    r"`dampkit book bench calibrate`": "Benches, Add a calibration",
    r"`dampkit book bench check`": "Benches, Check it with the master damper",
    r"is the displacement with `dampkit look`": "is the displacement, under Record",
    r"as `dampkit analyse --json` writes it": "as dampkit writes it",
    r"Put several good units through `dampkit reference`": "Read several good units, and take how far they stray",
    r"and run this again": "and look here again",
}
OPTIONS = {
    r"say it: --at 0,4,8, or at=\[0, 4, 8\]": "type it beside its record",
    r"name (?:another|the right) (?:file )?(?:with )?--book": "start the page on another book",
    r"give it with --serial when": "it is typed under Unit when",
    r"each with --type and its --serial": "each with its unit type and its serial",
    r"--by\b": "the second person's name",
    r"--serial\b": "the serial, under Unit",
    r"--job\b": "the job, under Keep",
    r"--customer\b": "the customer, under Keep",
    r"--type\b": "the unit type, under Unit",
    r"--car\b": "the vehicle, under Car",
    r"--on\b": "the bench, under Record",
}


def without_commands(text: str) -> str:
    """The text, of a page too, with the place on the page for every command."""
    if "dampkit " in text or "same command" in text:
        for pattern, words in COMMANDS.items():
            text = re.sub(pattern, words, text)
    return text


STEPS = {"bench": "Record, More about the bench", "damper": "Unit", "vehicle": "Car", "inspection": "Eyes and hands"}
IN_A_FILE = re.compile(rf"^({'|'.join(STEPS)})\.toml(?::\d+)?,? ?")  # where an error is, of what was filled in
BY_FILE = re.compile(rf"\bin ({'|'.join(STEPS)})\.toml: ?")
BY_KEY = re.compile(r"\[([a-z_]+)\](?: ([a-z0-9_]+))?|(?<![\w.\[])([a-z0-9]+(?:_[a-z0-9]+)+)(?!\w|\.\w)")


def words_of(name: str) -> str:
    """A key in words, without its unit."""
    parts = name.split("_")
    tails = (i for i in range(1, len(parts)) if TAILS.get("_".join(parts[i:]), PLAIN_NUMBER) != PLAIN_NUMBER)
    return " ".join(parts[: next(tails, len(parts))])


@cache
def _names() -> frozenset[str]:
    return frozenset(part for file in MODELS for key in keys(file) for part in key.place)


def in_fields(text: str) -> str:
    """The text with files, sections and keys as the forms call them."""

    def called(found: re.Match[str]) -> str:
        section, key, alone = found.groups("")
        if (section or alone) not in _names():
            return found[0]
        inside = f", {words_of(key)}" if key in _names() else f" {key}".rstrip()
        return words_of(alone) if alone else words_of(section).capitalize() + inside

    return BY_KEY.sub(called, BY_FILE.sub(lambda found: f"under {STEPS[found[1]]}: ", text))


def on_page(text: str) -> str:
    """The text without the names of commands and options."""
    text = without_commands(text)
    for pattern, words in OPTIONS.items():
        text = re.sub(pattern, words, text)
    return text


def error_of(error: DampkitError) -> dict[str, Any]:
    """Its parts for the page, `again` where a second try may do; of what is filled in there, as its fields are called."""
    parts = {name: on_page(getattr(error, name)) for name in ("where", "found", "expected", "do")}
    parts["where"], filled_in = IN_A_FILE.subn(lambda found: f"Under {STEPS[found[1]]}: ", parts["where"])
    for name in ("where", "expected", "do"):
        if filled_in or BY_FILE.search(parts[name]):
            parts[name] = in_fields(parts[name])
    return {**parts, "where": parts["where"].removesuffix(": "), "again": False}
