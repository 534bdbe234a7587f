"""What a vehicle needs as a page of its own, without any unit."""

from __future__ import annotations

from dataclasses import replace

from dampkit.outcome.vehicle_record import NeedResult
from dampkit.report.car import NEED_SPEEDS_M_S, car_view, need_picture
from dampkit.report.document import ALONE, Look, page_text
from dampkit.report.plain import LONGEST_NAME, shortened, visible
from dampkit.report.tables import need_table
from dampkit.sources import citation


def render_need(result: NeedResult, look: Look = ALONE) -> str:
    """The whole page as HTML text; opens offline and holds no script."""
    vehicle, need = result.vehicle, result.vehicle.need
    view = {
        "name": shortened(visible(vehicle.name or "a vehicle without a name"), LONGEST_NAME),
        "need_table": need_table(vehicle, NEED_SPEEDS_M_S, look.writer),
        "remarks": [entry.message for entry in result.quality],
        "sources": [citation(key) for key in result.sources],
        "version": result.version,
        **car_view(vehicle, look.writer),
    }
    return page_text(
        "need.html", replace(look, library=""), [None if need is None else need_picture(need, look.writer)], view
    )
