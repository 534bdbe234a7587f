"""What a command found, told: as lines for a person or as JSON for a program, and the files that go with it."""

from __future__ import annotations

import json
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Annotated, Any

import typer

from dampkit.app.say import say
from dampkit.files import Output, text_output, write_all

TO_STDOUT = "-"
JsonOption = Annotated[
    str | None, typer.Option("--json", metavar="OUT.json", help="Write it as JSON; - for standard output.")
]


def json_file(json_to: str | None) -> list[Path]:
    """The file that is to be written; none where it is standard output or nothing."""
    return [] if json_to in (None, TO_STDOUT) else [Path(str(json_to))]


def tell(
    json_to: str | None, found: Callable[[], dict[str, Any]], lines: Sequence[str], outputs: Sequence[Output] = ()
) -> None:
    """Write all files, then print; with `--json -` the JSON and nothing else on standard output.

    `found` is asked for only where JSON is wanted.
    Raises BadSettings where a file cannot be written; then nothing is printed.
    """
    text = "" if json_to is None else json.dumps(found(), indent=1, allow_nan=False) + "\n"
    made = [*(text_output(file, text) for file in json_file(json_to)), *outputs]
    write_all(made)
    say(text if json_to == TO_STDOUT else "\n".join(lines), nl=json_to != TO_STDOUT)
    tell_written([output.path for output in made], json_to)


def tell_written(paths: Sequence[Path], json_to: str | None) -> None:
    for path in paths:
        say(f"written: {path}", err=json_to == TO_STDOUT)
