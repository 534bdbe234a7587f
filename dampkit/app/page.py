"""`dampkit page`: the page, figures and numbers of a stored result, without its log."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from dampkit.app.letterhead import Workshop, letterhead_for
from dampkit.app.making import Drawn, DrawnOption, FiguresOption, NumbersOption, SheetsOption, Units, UnitsOption
from dampkit.app.options import Book
from dampkit.app.say import say


def page_command(
    stored: Annotated[
        Path, typer.Argument(metavar="RESULT.json", help="As `analyse --json` writes it.", show_default=False)
    ],
    report: Annotated[Path | None, typer.Option("--report", metavar="OUT.html", help="Write the page.")] = None,
    sheets: SheetsOption = None,
    units: UnitsOption = Units.si,
    figures: FiguresOption = None,
    figures_as: DrawnOption = Drawn.svg,
    numbers: NumbersOption = None,
    workshop: Workshop = None,
    book: Book = None,
) -> None:
    from dampkit.app.making import Wanted, outputs
    from dampkit.errors import BadSettings
    from dampkit.files import check_outputs, write_all
    from dampkit.report.page import stored_result

    if not (report or sheets or figures or numbers):
        found = "nothing to make was named"
        raise BadSettings("dampkit page", found, "--report, --sheets, --figures or --numbers", "name what to make")
    result = stored_result(stored)
    letterhead = letterhead_for(workshop, book) if report or sheets or workshop else None
    made = outputs(result, Wanted(report, units, figures, figures_as, numbers, letterhead=letterhead, sheets=sheets))
    check_outputs([output.path for output in made], [stored])
    write_all(made)
    for output in made:
        say(f"written: {output.path}")
