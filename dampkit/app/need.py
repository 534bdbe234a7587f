"""`dampkit need`: what a vehicle needs of its dampers, without any bench log."""

from __future__ import annotations

import json
from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from dampkit.app.making import Units, UnitsOption
from dampkit.app.say import say

if TYPE_CHECKING:
    from dampkit.needs.springs.figures import Fact
    from dampkit.outcome.ride_record import FactRecord
    from dampkit.outcome.vehicle_record import NeedResult

TO_STDOUT = "-"


def need_command(
    vehicle: Annotated[Path, typer.Argument(metavar="VEHICLE.toml", help="The vehicle.", show_default=False)],
    json_to: Annotated[
        str | None, typer.Option("--json", metavar="OUT.json", help="Write it as JSON; - for standard output.")
    ] = None,
    report: Annotated[Path | None, typer.Option(metavar="OUT.html", help="Write it as a page.")] = None,
    units: UnitsOption = Units.si,
) -> None:
    from dampkit.analyse import need
    from dampkit.files import check_outputs, text_output, write_all

    to_stdout = json_to == TO_STDOUT
    json_file = Path(json_to) if json_to and not to_stdout else None
    check_outputs([p for p in (json_file, report) if p], [vehicle])
    result = need(vehicle)
    text = json.dumps(result.to_dict(), indent=1, allow_nan=False) + "\n"
    outputs = [text_output(json_file, text)] if json_file else []
    if report:
        from dampkit.report.document import Look
        from dampkit.report.need_page import render_need

        outputs.append(text_output(report, render_need(result, Look(units == Units.imperial))))
    write_all(outputs)
    say(text if to_stdout else "\n".join(_said(result)), nl=not to_stdout)
    for output in outputs:
        say(f"written: {output.path}", err=to_stdout)


def _said(result: NeedResult) -> Iterable[str]:
    from dampkit.report.car import NEED_SPEEDS_M_S
    from dampkit.report.numbers import Writer
    from dampkit.report.tables import need_table

    yield result.vehicle.name or "a vehicle without a name"
    table = need_table(result.vehicle, NEED_SPEEDS_M_S, Writer())
    if table is not None:
        yield table.caption
        yield from aligned([table.head, *table.rows])
        if result.vehicle.need is not None:
            yield f"  {result.vehicle.need.basis}"
    yield from fact_lines(result.vehicle.facts)
    yield from result.left_out


def fact_lines(facts: Iterable[Fact | FactRecord]) -> Iterable[str]:
    """Each group's name, then its facts in columns."""
    from itertools import groupby

    from dampkit.report.numbers import Writer

    for group, found in groupby(facts, key=lambda fact: fact.group):
        yield group
        yield from aligned([(fact.what, Writer().value(fact.value, fact.unit), f"({fact.basis})") for fact in found])


def aligned(rows: Sequence[Sequence[str]]) -> list[str]:
    """Cells padded to the widest of their column but the last, indented."""
    widths = [max(len(row[i]) for row in rows) for i in range(len(rows[0]) - 1)]
    rows = [[cell.replace("\N{NO-BREAK SPACE}", " ") for cell in row] for row in rows]
    return ["  " + "  ".join([*(f"{c:<{w}}" for c, w in zip(row, widths, strict=False)), row[-1]]) for row in rows]
