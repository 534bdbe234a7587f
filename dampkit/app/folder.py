"""A folder of pages that share one plotly file: one page that leads, and one for each run."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from dampkit.app.making import Units
from dampkit.files import folder_for, write_text

if TYPE_CHECKING:
    from dampkit.outcome.result import Result
    from dampkit.report.document import Look

Logs = Annotated[list[Path], typer.Argument(metavar="RUN.csv...", help="The logs.", show_default=False)]
Report = Annotated[Path | None, typer.Option("--report", metavar="OUT.html", help="Write it as one page.")]
Folder = Annotated[
    Path | None, typer.Option("--pages", metavar="DIR", help="Write a folder: this page, and one for each run.")
]
LEADING = "index.html"
Render = Callable[["Look", tuple[str, ...]], str]


def write_leading(
    report: Path | None, folder: Path | None, units: Units, results: Sequence[Result], render: Render
) -> list[Path]:
    """Write what was asked for: one page alone, or a folder with it, a page for each result and plotly once.

    `render` takes the look and the links to the pages of the results, none for a page alone; gives the paths written.
    Raises BadSettings where a place cannot be written to.
    """
    from dampkit.app.letterhead import letterhead_for
    from dampkit.report.document import SHARED_LIBRARY, Look, write_library
    from dampkit.report.page import write_report

    imperial = units == Units.imperial
    head = letterhead_for(None, None) if report is not None or folder is not None else None
    written: list[Path] = []
    if report is not None:
        written.append(write_text(report, render(Look(imperial, letterhead=head), ())))
    if folder is not None:
        folder_for(folder, "pages")
        look = Look(imperial, SHARED_LIBRARY, head)
        names = tuple(f"run-{n}.html" for n in range(1, len(results) + 1))
        write_library(folder)
        for name, result in zip(names, results, strict=True):
            write_report(result, folder / name, look)
        written.append(write_text(folder / LEADING, render(look, names)))
    return written
