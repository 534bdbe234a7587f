"""Commands that hold several runs side by side. Heavy imports wait until they are needed."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from dampkit.app.json_out import JsonOption
from dampkit.app.making import Units, UnitsOption
from dampkit.app.options import Bench, Book, Damper, Vehicle

Logs = Annotated[list[Path], typer.Argument(metavar="RUN.csv...", help="The logs.", show_default=False)]
Report = Annotated[Path | None, typer.Option("--report", metavar="OUT.html", help="Write it as one page.")]
Folder = Annotated[
    Path | None, typer.Option("--pages", metavar="DIR", help="Write a folder: this page, and one for each run.")
]


def compare_command(
    runs: Logs,
    bench: Bench = None,
    damper: Damper = None,
    vehicle: Vehicle = None,
    allow: Annotated[
        float | None,
        typer.Option(
            "--allow", min=0.0, help="Percent by which two units may differ; 10 unless said.", show_default=False
        ),
    ] = None,
    before_after: Annotated[
        bool, typer.Option("--before-after", help="One unit before and after work on it, in this order.")
    ] = False,
    report: Report = None,
    pages: Folder = None,
    units: UnitsOption = Units.si,
    json_to: JsonOption = None,
) -> None:
    from dampkit.app.compare import Pages, compare
    from dampkit.job import JobFiles

    compare(runs, JobFiles(bench, damper, vehicle), allow, Pages(report, pages, units, before_after, json_to))


def settings_command(
    runs: Logs,
    bench: Bench = None,
    damper: Damper = None,
    vehicle: Vehicle = None,
    at: Annotated[
        str | None, typer.Option("--at", metavar="0,4,8", help="Setting of each run; else the last number in its name.")
    ] = None,
    step: Annotated[float, typer.Option("--step", help="Smallest step of the adjuster.")] = 1.0,
    report: Report = None,
    pages: Folder = None,
    units: UnitsOption = Units.si,
    json_to: JsonOption = None,
) -> None:
    from dampkit.app.settings import Pages, settings
    from dampkit.job import JobFiles

    settings(runs, at, JobFiles(bench, damper, vehicle), step, Pages(report, pages, units, json_to))


def reference_command(
    runs: Annotated[
        list[Path] | None, typer.Argument(metavar="RUN.csv...", help="The logs.", show_default=False)
    ] = None,
    save: Annotated[
        Path | None, typer.Option("--save", metavar="DAMPER.toml", help="Write it as a damper file.")
    ] = None,
    bench: Bench = None,
    damper: Damper = None,
    share: Annotated[float, typer.Option("--share", help="Share of good units that the band is to hold.")] = 0.95,
    confidence: Annotated[float, typer.Option("--confidence", help="Confidence that it does.")] = 0.95,
    json_to: JsonOption = None,
    unit_type: Annotated[
        str | None,
        typer.Option("--type", metavar="NAME", help="Instead of logs: the type's units in the book that passed."),
    ] = None,
    accept: Annotated[
        str | None,
        typer.Option("--accept", metavar="NAME", help="With --type: keep it on the type's card; who says so."),
    ] = None,
    book: Book = None,
) -> None:
    from dampkit.app.reference import Limits, of_type, reference
    from dampkit.errors import BadSettings
    from dampkit.job import JobFiles

    if (unit_type is None) == (not runs):
        raise BadSettings(
            "reference", "logs and --type, or neither", "one of the two", "name logs, or a type with --type"
        )
    if unit_type is not None:
        of_type(unit_type, Limits(share, confidence), accept, json_to=json_to, book=book)
        return
    reference(runs or (), JobFiles(bench, damper), Limits(share, confidence), save=save, json_to=json_to)
