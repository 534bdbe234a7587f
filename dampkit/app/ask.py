"""A question before something that is seldom meant: asked on a terminal, refused where nobody can answer."""

from __future__ import annotations

import sys

import typer

from dampkit.errors import BadSettings, printable


def sure(where: str, found: str, expected: str, *, even_so: bool) -> None:
    """Go on where the person says so, or `--even-so` was given. Raises BadSettings otherwise."""
    if even_so:
        return
    if _answerable() and typer.confirm(printable(f"{where}: {found}. Go on?"), default=False, err=True):
        return
    raise BadSettings(where, found, expected, "correct it, or say --even-so if it is meant")


def missing(what: str) -> str | None:
    """Asked for on a terminal, where an empty answer leaves it out; None where nobody can answer."""
    if not _answerable():
        return None
    return typer.prompt(f"{what} (empty leaves it out)", default="", show_default=False, err=True).strip() or None


def _answerable() -> bool:
    return sys.stdin.isatty() and sys.stderr.isatty()
