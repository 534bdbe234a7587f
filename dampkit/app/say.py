"""The one way to print: foreign text (headings, names, notes) cannot reach the terminal's controls."""

from __future__ import annotations

import sys
from collections.abc import Sequence

from dampkit.errors import printable
from dampkit.files import WINDOWS


def say(text: object, *, err: bool = False, nl: bool = True) -> None:
    """A line on standard output, or on standard error."""
    print(printable(str(text)), file=sys.stderr if err else sys.stdout, end="\n" if nl else "", flush=True)


def command_line(words: Sequence[str]) -> str:
    """Words as a person types them: in double quotes on Windows, whose shells know no others in common."""
    if WINDOWS:
        return " ".join(f'"{word}"' if " " in word else word for word in words)
    import shlex

    return shlex.join(words)


def never_fail_to_print() -> None:
    """A character that the terminal, pipe or file cannot hold becomes a question mark, and no error."""
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):  # not where a program put something of its own in their place
            stream.reconfigure(errors="replace")
