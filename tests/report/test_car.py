"""The car's part of the page: facts, ride and choice, from a vehicle worked out for a made-up unit."""

from __future__ import annotations

import numpy as np
import pytest

from dampkit.damper.unit import Law, Side, Unit
from dampkit.damper.valve import Valve
from dampkit.needs.corner import Corner
from dampkit.needs.requirement import needed_forces
from dampkit.needs.ride_check import ride_check
from dampkit.needs.springs.figures import Fact
from dampkit.needs.vehicle_needs import VehicleNeeds
from dampkit.outcome.need_record import VehicleRecord
from dampkit.outcome.result import Result
from dampkit.outcome.vehicle_record import vehicle_record
from dampkit.quantities import Estimate
from dampkit.report.car import choice_picture, facts_tables, ride_table, sentences
from dampkit.report.numbers import Writer
from dampkit.report.page import render
from tests.needs.made import SALOON
from tests.report import made_up


def made_up_unit() -> Unit:
    """Straight curves: 2000 N s/m in rebound, 1000 in compression; 20 N of friction."""
    v, none = np.linspace(0.0, 1.0, 51), np.zeros(0)
    laws = [
        Law(Valve(leak=1 / c), v, c * v, 0.99 * c * v, 1.01 * c * v, none, none, ("leak",)) for c in (2000.0, 1000.0)
    ]
    return Unit(Side("rebound", laws[0]), Side("compression", laws[1]), friction_force_n=Estimate(20.0, 18.0, 22.0))


def worked_out(corner: Corner = SALOON) -> VehicleRecord:
    need = needed_forces(corner)
    found = (Fact("Corner", "Body frequency", 1.3, "Hz", "two masses"), Fact("Axle", "Hop", 11.0, "Hz", "two masses"))
    return vehicle_record(
        VehicleNeeds(corner, corner.modes(), (), (), need, found, ride_check(made_up_unit(), corner, need))
    )


def test_an_old_record_without_facts_or_ride_still_loads() -> None:
    stored = made_up.vehicle().model_dump(mode="json")
    del stored["facts"], stored["ride"]
    assert VehicleRecord.model_validate(stored).ride is None


def test_one_table_a_group() -> None:
    tables = facts_tables(worked_out(), Writer())
    assert [table.caption for table in tables] == ["Corner", "Axle"]


def test_ride_table_has_a_column_for_each_unit() -> None:
    ride = worked_out().ride
    assert ride is not None
    table = ride_table(ride, Writer())
    assert table.head[1:] == ("this unit", "as needed", "this unit worn to half its force")
    assert all(len(row) == len(table.head) for row in table.rows)
    assert table.rows[-1] == ("Rubber stops", *(3 * ("no stop declared",)))


def test_this_unit_lies_on_the_line_of_its_own_spring() -> None:
    ride = worked_out().ride
    assert ride is not None
    picture = choice_picture(ride)
    own, unit = picture.layers[1], picture.layers[3]
    assert own.name.startswith("spring at 100 %")
    assert float(np.min(np.abs(own.x - unit.x[0]))) == pytest.approx(0, abs=1e-4)


def test_page_shows_ride_facts_and_push_down() -> None:
    result: Result = made_up.sound().model_copy(update={"vehicle": worked_out()})
    text = render(result)
    for piece in ("The ride it gives", "Comfort against grip", "push-down check", "The car in figures", "130 km/h"):
        assert piece in text
    assert "[cut here" not in text


def test_sentences_keep_numbers_whole() -> None:
    assert sentences("At 0.3 m/s. Faster, 5 mm. So") == ["At 0.3 m/s.", "Faster, 5 mm.", "So"]
