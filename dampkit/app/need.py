"""`dampkit need`: what a vehicle needs of its dampers, without any bench log."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from dampkit.app.json_out import JsonOption, json_file, tell
from dampkit.app.making import Units, UnitsOption
from dampkit.app.say import aligned
from dampkit.files import check_outputs, text_output

if TYPE_CHECKING:
    from dampkit.needs.springs.figures import Fact
    from dampkit.outcome.need_record import FactRecord
    from dampkit.outcome.vehicle_record import NeedResult


def need_command(
    vehicle: Annotated[Path, typer.Argument(metavar="VEHICLE.toml", help="The vehicle.", show_default=False)],
    json_to: JsonOption = None,
    report: Annotated[Path | None, typer.Option(metavar="OUT.html", help="Write it as a page.")] = None,
    units: UnitsOption = Units.si,
) -> None:
    from dampkit.analyse import need

    check_outputs([*json_file(json_to), *([report] if report else [])], [vehicle])
    result = need(vehicle)
    outputs = []
    if report:
        from dampkit.app.letterhead import letterhead_for
        from dampkit.report.car import render_need
        from dampkit.report.document import Look

        look = Look(units == Units.imperial, letterhead=letterhead_for(None, None))
        outputs.append(text_output(report, render_need(result, look)))
    tell(json_to, result.to_dict, list(_said(result)), outputs)


def _said(result: NeedResult) -> Iterable[str]:
    from dampkit.expected.window import USUAL_SPEEDS_M_S
    from dampkit.report.numbers import Writer
    from dampkit.report.tables import need_table

    yield result.vehicle.name or "a vehicle without a name"
    table = need_table(result.vehicle, USUAL_SPEEDS_M_S, Writer())
    if table is not None:
        yield table.caption
        yield from aligned([table.head, *table.rows])
        if result.vehicle.need is not None:
            yield f"  {result.vehicle.need.basis}"
    yield from fact_lines(result.vehicle.facts)
    yield from (f"{entry.severity}: {entry.message}" for entry in result.quality)
    yield from result.left_out


def fact_lines(facts: Iterable[Fact | FactRecord]) -> Iterable[str]:
    """Each group's name, then its facts in columns."""
    from itertools import groupby

    from dampkit.report.numbers import Writer

    for group, found in groupby(facts, key=lambda fact: fact.group):
        yield group
        yield from aligned([(fact.what, Writer().value(fact.value, fact.unit), f"({fact.basis})") for fact in found])
