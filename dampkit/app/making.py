"""What a command makes of a result: page, figures and numbers, in the units that were asked for."""

from __future__ import annotations

from dataclasses import replace
from enum import StrEnum
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from dampkit.errors import BadSettings
from dampkit.files import Output, folder_for, text_output
from dampkit.frozen import frozen

if TYPE_CHECKING:
    from dampkit.outcome.result import Result
    from dampkit.outcome.workshop import Letterhead
    from dampkit.report.document import Look


class Units(StrEnum):
    si = "si"
    imperial = "imperial"


class Drawn(StrEnum):
    svg = "svg"
    png = "png"


UnitsOption = Annotated[Units, typer.Option("--units", help="Units of the page; SI stands beside imperial.")]
FiguresOption = Annotated[Path | None, typer.Option("--figures", metavar="DIR", help="Write the pictures as files.")]
DrawnOption = Annotated[Drawn, typer.Option("--figures-as", help="Kind of those files; for PNG install dampkit[png].")]
SheetsOption = Annotated[
    Path | None,
    typer.Option("--sheets", metavar="OUT.html", help="Write a side for the customer, one to work by, and the page."),
]
NumbersOption = Annotated[
    Path | None, typer.Option("--numbers", metavar="DIR", help="Write the numbers as CSV and the result as JSON.")
]
NextTestOption = Annotated[
    Path | None,
    typer.Option("--next-test", metavar="FILE", help="Write what to test next: .csv a row a step, .txt or .md a list."),
]
ReportOption = Annotated[Path | None, typer.Option("--report", metavar="OUT.html", help="Write the page.")]
NEXT_TEST_SUFFIXES = (".csv", ".txt", ".md")


@frozen
class Wanted:
    report: Path | None = None
    units: Units = Units.si
    figures: Path | None = None
    figures_as: Drawn = Drawn.svg
    numbers: Path | None = None
    next_test: Path | None = None
    letterhead: Letterhead | None = None
    sheets: Path | None = None

    @property
    def look(self) -> Look:
        from dampkit.report.document import Look

        return Look(self.units == Units.imperial, letterhead=self.letterhead)

    def headed(self, workshop: Path | None, book: Path | None) -> Wanted:
        """With the workshop at the head, where there is a page to head. Raises as `letterhead_for`."""
        from dampkit.app.letterhead import letterhead_for

        return (
            replace(self, letterhead=letterhead_for(workshop, book)) if self.report or self.sheets or workshop else self
        )


OF_RESULT = {
    "report": ReportOption, "sheets": SheetsOption, "units": UnitsOption, "figures": FiguresOption,
    "figures_as": DrawnOption, "numbers": NumbersOption,
}  # fmt: skip


def outputs(result: Result, wanted: Wanted) -> list[Output]:
    """The files to write, not yet written; folders for them are made.

    Raises BadSettings where a folder cannot be made or a PNG cannot be drawn here.
    """
    made: list[Output] = []
    if wanted.report is not None:
        from dampkit.report.page import render

        made.append(text_output(wanted.report, render(result, wanted.look)))
    if wanted.sheets is not None:
        from dampkit.report.sheets import render_sheets

        made.append(text_output(wanted.sheets, render_sheets(result, wanted.look)))
    if wanted.figures is not None:
        made += _figures(result, folder_for(wanted.figures, "files"), wanted)
    if wanted.numbers is not None:
        made += _numbers(result, folder_for(wanted.numbers, "files"))
    if wanted.next_test is not None and result.next_test is not None:
        from dampkit.report.next_test import next_test_rows, next_test_text

        as_rows = wanted.next_test.suffix.lower() == ".csv"
        made.append(text_output(wanted.next_test, next_test_rows(result) if as_rows else next_test_text(result)))
    return made


def check_next_test(path: Path | None) -> None:
    """Raises BadSettings where the suffix does not say which of the two forms is wanted."""
    if path is not None and path.suffix.lower() not in NEXT_TEST_SUFFIXES:
        expected = "a file that ends in .csv (a row a step) or in .txt or .md (a list to follow)"
        raise BadSettings(str(path), f"--next-test with the ending {path.suffix!r}", expected, "rename it")


def _figures(result: Result, folder: Path, wanted: Wanted) -> list[Output]:
    from dampkit.report.figure_file import figure_svg
    from dampkit.report.page import big_pictures, in_units

    made = []
    look = wanted.look
    for picture in big_pictures(in_units(result, look), look.writer):
        drawn = look.turned(picture)
        text = figure_svg(drawn)
        if wanted.figures_as == Drawn.svg:
            made.append(text_output(folder / f"{picture.id}.svg", text))
        else:
            from dampkit.app.png import png_output

            made.append(png_output(folder / f"{picture.id}.png", text))
    return made


def _numbers(result: Result, folder: Path) -> list[Output]:
    import json

    from dampkit.report.frames import number_tables
    from dampkit.store.table import write_csv

    made = []
    for name, table in number_tables(result).items():
        rows = [dict(zip(table.columns, row, strict=True)) for row in table.rows]
        made.append(
            Output(folder / f"{name}.csv", lambda to, columns=table.columns, rows=rows: write_csv(to, columns, rows))  # type: ignore[misc]
        )
    text = json.dumps(result.to_dict(), indent=1, allow_nan=False) + "\n"
    return [*made, text_output(folder / "result.json", text)]
