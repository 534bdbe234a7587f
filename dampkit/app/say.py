"""The one way to print: foreign text (headings, names, notes) cannot reach the terminal's controls."""

from __future__ import annotations

import sys
from collections.abc import Sequence

from dampkit.errors import printable
from dampkit.files import WINDOWS


def say(text: object, *, err: bool = False, nl: bool = True) -> None:
    """A line on standard output, or on standard error."""
    print(printable(str(text)), file=sys.stderr if err else sys.stdout, end="\n" if nl else "", flush=True)


def aligned(rows: Sequence[Sequence[str]]) -> list[str]:
    """Cells padded to the widest of their column but the last, indented."""
    widths = [max(len(row[i]) for row in rows) for i in range(len(rows[0]) - 1)]
    rows = [[cell.replace("\N{NO-BREAK SPACE}", " ") for cell in row] for row in rows]
    return ["  " + "  ".join([*(f"{c:<{w}}" for c, w in zip(row, widths, strict=False)), row[-1]]) for row in rows]


def on_terminal() -> bool:
    """A person reads columns more easily, a program whole lines."""
    return sys.stdout.isatty()


def command_line(words: Sequence[str]) -> str:
    """Words as a person types them: in double quotes on Windows, whose shells know no others in common."""
    import shlex

    if WINDOWS:
        return " ".join(f'"{word}"' if " " in word else word for word in words)
    return shlex.join(words)


def never_fail_to_print() -> None:
    """A character that the terminal, pipe or file cannot hold becomes a question mark, and no error."""
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):  # not where a program put something of its own in their place
            stream.reconfigure(errors="replace")
