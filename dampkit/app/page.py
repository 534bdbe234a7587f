"""`dampkit page`: the page, figures and numbers of a stored result, without its log."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from dampkit.app.letterhead import Workshop
from dampkit.app.making import OF_RESULT, Wanted
from dampkit.app.options import Book, Options
from dampkit.app.say import say
from dampkit.errors import BadSettings
from dampkit.files import check_outputs, write_all


def page_command(
    stored: Annotated[
        Path, typer.Argument(metavar="RESULT.json", help="As `analyse --json` writes it.", show_default=False)
    ],
    wanted: Annotated[Wanted, Options(**OF_RESULT)],
    workshop: Workshop = None,
    book: Book = None,
) -> None:
    from dampkit.app.making import outputs
    from dampkit.report.page import stored_result

    if not (wanted.report or wanted.sheets or wanted.figures or wanted.numbers):
        found = "nothing to make was named"
        raise BadSettings("dampkit page", found, "--report, --sheets, --figures or --numbers", "name what to make")
    made = outputs(stored_result(stored), wanted.headed(workshop, book))
    check_outputs([output.path for output in made], [stored])
    write_all(made)
    for output in made:
        say(f"written: {output.path}")
