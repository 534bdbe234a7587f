"""What a vehicle needs as a page of its own, without any unit."""

from __future__ import annotations

from dampkit.outcome.vehicle_record import NeedResult
from dampkit.report import words
from dampkit.report.car import NEED_SPEEDS_M_S, car_view, need_picture
from dampkit.report.numbers import Writer
from dampkit.report.page import environment
from dampkit.report.plain import LONGEST_NAME, shortened, visible
from dampkit.report.tables import need_table
from dampkit.sources import citation


def render_need(result: NeedResult, imperial: bool = False) -> str:
    """The whole page as HTML text; opens offline and holds no script."""
    vehicle, writer = result.vehicle, Writer(imperial)
    need = vehicle.need
    return environment().get_template("need.html").render(
        name=shortened(visible(vehicle.name or "a vehicle without a name"), LONGEST_NAME),
        need_table=need_table(vehicle, NEED_SPEEDS_M_S, writer),
        pictures={} if need is None else {"need": need_picture(need)},
        words=words,
        sources=[citation(key) for key in result.sources],
        version=result.version,
        **car_view(vehicle, writer),
    )  # fmt: skip
