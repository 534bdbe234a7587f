"""The one way to print: foreign text (headings, names, notes) cannot reach the terminal's controls."""

from __future__ import annotations

import typer

from dampkit.errors import printable


def say(text: object, *, err: bool = False, nl: bool = True) -> None:
    """A line on standard output, or on standard error."""
    typer.echo(printable(str(text)), err=err, nl=nl)
