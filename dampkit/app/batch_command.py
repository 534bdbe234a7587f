"""The command `dampkit batch`; what it does is in `batch`, loaded when it is used."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from dampkit.app.making import Units, UnitsOption
from dampkit.app.options import Bench, Costs, Damper, Inspection, Stock, Vehicle, Who


def batch_command(
    logs: Annotated[
        list[str], typer.Argument(metavar="FOLDER|PATTERN|LOG...", help="What to analyse.", show_default=False)
    ],
    out: Annotated[Path, typer.Option(metavar="DIR", help="Folder for results, table and page.")] = Path("batch-out"),
    bench: Bench = None,
    damper: Damper = None,
    vehicle: Vehicle = None,
    inspection: Inspection = None,
    costs: Costs = None,
    stock: Stock = None,
    together: Annotated[
        str | None,
        typer.Option(
            metavar="folder|PATTERN", help="Records of one unit are one test: a folder a unit, or '{unit}_*.csv'."
        ),
    ] = None,
    jobs: Annotated[int, typer.Option(metavar="N", help="Processes; 0 is one a processor.", min=0)] = 0,
    cluster: Annotated[
        str | None, typer.Option(metavar="tcp://HOST:PORT", help="Work on a running cluster instead.")
    ] = None,
    book: Annotated[
        Path | None, typer.Option("--book", metavar="BOOK.sqlite", help="Add what was analysed to this job book.")
    ] = None,
    who: Who = None,
    again: Annotated[bool, typer.Option("--again", help="Also logs that were done before.")] = False,
    pages: Annotated[
        bool, typer.Option("--pages", help="Also a page for each unit; they share one plotly file.")
    ] = False,
    ride: Annotated[
        bool, typer.Option("--ride", help="Also the vehicle's ride, which pages and a job book have anyway.")
    ] = False,
    units: UnitsOption = Units.si,
    fail_on_fault: Annotated[
        bool, typer.Option("--fail-on-fault", help="End with status 1 unless every verdict is fit.")
    ] = False,
) -> None:
    """RUN.bench.toml, RUN.damper.toml and so on beside a log go before the files named here."""
    from dampkit.app.at_book import person
    from dampkit.app.batch import Wishes, batch
    from dampkit.job import JobFiles

    wishes = Wishes(
        out,
        jobs,
        cluster,
        book,
        person(who),
        again=again,
        pages=pages,
        ride=ride or pages or book is not None,
        fail_on_fault=fail_on_fault,
        units=units,
        together=together,
    )
    raise typer.Exit(batch(logs, JobFiles(bench, damper, vehicle, inspection, costs, stock), wishes))
