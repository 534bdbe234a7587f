"""Commands of several logs: their fits, and a folder of pages that share one plotly file, one that leads and one a run."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from dampkit.app.json_out import JsonOption, json_file, tell_written
from dampkit.app.making import Units, UnitsOption
from dampkit.app.options import Options
from dampkit.app.progress import Progress
from dampkit.files import check_outputs, folder_for, write_text
from dampkit.frozen import frozen
from dampkit.job import Job

if TYPE_CHECKING:
    from dampkit.outcome.result import Result
    from dampkit.outcome.side_by_side import Fitted
    from dampkit.report.document import Look


Logs = Annotated[list[Path], typer.Argument(metavar="RUN.csv...", help="The logs.", show_default=False)]
Report = Annotated[Path | None, typer.Option("--report", metavar="OUT.html", help="Write it as one page.")]
Folder = Annotated[
    Path | None, typer.Option("--pages", metavar="DIR", help="Write a folder: this page, and one for each run.")
]
LEADING = "index.html"
Render = Callable[["Look", tuple[str, ...]], str]


@frozen
class Pages:
    """What is to be written: one page alone, or a folder with it, a page for each result and plotly once."""

    report: Path | None = None
    folder: Path | None = None
    units: Units = Units.si
    json_to: str | None = None

    def check(self, inputs: Sequence[Path | None]) -> None:
        """Raises BadSettings where a place cannot be written to, or is one of the inputs."""
        check_outputs([*json_file(self.json_to), *([self.report] if self.report else [])], inputs)

    def write(self, results: Sequence[Result], render: Render) -> None:
        """`render` takes the look and the links to the pages of the results, none for a page alone."""
        from dampkit.app.letterhead import letterhead_for
        from dampkit.report.document import SHARED_LIBRARY, Look, write_library
        from dampkit.report.page import write_report

        if self.report is None and self.folder is None:
            return
        imperial, head = self.units == Units.imperial, letterhead_for(None, None)
        written: list[Path] = []
        if self.report is not None:
            written.append(write_text(self.report, render(Look(imperial, letterhead=head), ())))
        if self.folder is not None:
            folder_for(self.folder, "pages")
            look = Look(imperial, SHARED_LIBRARY, head)
            names = tuple(f"run-{n}.html" for n in range(1, len(results) + 1))
            write_library(self.folder)
            for name, result in zip(names, results, strict=True):
                write_report(result, self.folder / name, look)
            written.append(write_text(self.folder / LEADING, render(look, names)))
        tell_written(written, self.json_to)


PagesOptions = Annotated[Pages, Options(report=Report, folder=Folder, units=UnitsOption, json_to=JsonOption)]


def fitted_shown(logs: Sequence[Path], job: Job) -> tuple[Fitted, ...]:
    """As `fitted`."""
    from dampkit.outcome.side_by_side import fitted

    progress = Progress(len(logs))
    try:
        return fitted(_Counted(logs, progress), job)
    finally:
        progress.end()


class _Counted(list[Path]):
    """Logs that are counted as they are gone through."""

    def __init__(self, logs: Sequence[Path], progress: Progress) -> None:
        super().__init__(logs)
        self.progress = progress

    def __iter__(self) -> Iterator[Path]:
        return self.progress.over(list.__iter__(self))
