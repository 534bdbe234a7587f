"""The command `dampkit analyse`; what it does is in `analyse`, loaded when it is used."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from dampkit.app.json_out import JsonOption
from dampkit.app.making import (
    Drawn,
    DrawnOption,
    FiguresOption,
    NextTestOption,
    NumbersOption,
    SheetsOption,
    Units,
    UnitsOption,
)
from dampkit.app.options import (
    AsLogged,
    Bench,
    Book,
    Car,
    Costs,
    Customer,
    Damper,
    Inspection,
    Job,
    OnBench,
    Records,
    Serial,
    Stock,
    Technician,
    UnitType,
    Vehicle,
)
from dampkit.app.workshop_commands import Workshop, letterhead_for


def analyse_command(
    runs: Records,
    bench: Bench = None,
    damper: Damper = None,
    vehicle: Vehicle = None,
    inspection: Inspection = None,
    costs: Costs = None,
    stock: Stock = None,
    json_to: JsonOption = None,
    report: Annotated[Path | None, typer.Option(metavar="OUT.html", help="Write the page for the workshop.")] = None,
    sheets: SheetsOption = None,
    units: UnitsOption = Units.si,
    figures: FiguresOption = None,
    figures_as: DrawnOption = Drawn.svg,
    numbers: NumbersOption = None,
    next_test: NextTestOption = None,
    fail_on_fault: Annotated[
        bool, typer.Option("--fail-on-fault", help="End with status 1 unless the verdict is fit.")
    ] = False,
    as_logged: AsLogged = False,
    serial: Serial = None,
    job: Job = None,
    date: Annotated[str | None, typer.Option(metavar="YYYY-MM-DD", help="Day of the test.")] = None,
    at: Annotated[str | None, typer.Option(metavar="HH:MM", help="Time of the test.")] = None,
    by: Technician = None,
    customer: Customer = None,
    unit_type: UnitType = None,
    car: Car = None,
    on: OnBench = None,
    workshop: Workshop = None,
    book: Book = None,
) -> None:
    from dampkit.app.analyse import analyse
    from dampkit.app.library_files import named_files
    from dampkit.app.making import Wanted
    from dampkit.job import JobFiles
    from dampkit.outcome.about import About

    letterhead = letterhead_for(workshop, book) if report or sheets or workshop else None
    wanted = Wanted(report, units, figures, figures_as, numbers, next_test, letterhead, sheets)
    files = JobFiles(bench, damper, vehicle, inspection, costs, stock)
    said = About(serial, job, date, by, at, customer, car, unit_type, on).checked()
    with named_files(book, (unit_type, car, on, said.tested_on), files) as found:
        status = analyse(runs, found, json_to, wanted, said=said, fail_on_fault=fail_on_fault, as_logged=as_logged)
    raise typer.Exit(status)
