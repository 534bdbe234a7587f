"""The whole job: read -> curves -> damper -> faults -> needs -> outcome. (Rooms are imported late: start-up stays quick.)"""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from dampkit.bench.run import Run
    from dampkit.curves.loop import Curves
    from dampkit.damper.declared import DamperSpec
    from dampkit.damper.unit import Unit
    from dampkit.needs.declared import VehicleSpec
    from dampkit.needs.vehicle_needs import VehicleNeeds
    from dampkit.outcome.change.stock import Stock
    from dampkit.outcome.costs import CostSpec
    from dampkit.outcome.inspection import InspectionSpec
    from dampkit.outcome.result import Result


def analyse(
    run: Run,
    damper: str | Path | DamperSpec | None = None,
    vehicle: str | Path | VehicleSpec | None = None,
    *,
    inspection: str | Path | InspectionSpec | None = None,
    costs: str | Path | CostSpec | None = None,
    stock: str | Path | Stock | None = None,
) -> Result:
    """Everything that one log says about one unit, and for one vehicle.

    `damper` and `vehicle` are TOML files or what was read from them; either may be left out, and the result says
    what is left out with it. `inspection` is what eyes found, `costs` the prices of the workshop, `stock` the drills,
    springs, shims and oils it has; each likewise. Raises BadSettings for an unusable TOML, CannotAnalyse where the log holds no full cycle.
    """
    from dampkit.bench.toml_file import declared
    from dampkit.curves.trace import trace
    from dampkit.damper.declared import DamperSpec
    from dampkit.damper.identify import identify
    from dampkit.faults.diagnose import diagnose
    from dampkit.faults.judge import Case
    from dampkit.outcome.conclude import conclude
    from dampkit.outcome.extras import extras

    more = extras(stock, inspection, costs)
    unit, car = declared(damper, DamperSpec), _vehicle(vehicle)
    curves = trace(run)
    fitted = identify(curves, unit)
    faults = diagnose(Case(curves, fitted, unit))
    suited = _suited(curves, car, fitted)
    return conclude(Case(curves, fitted, unit), faults, suited, more)


def _vehicle(vehicle: str | Path | VehicleSpec | None) -> VehicleSpec | None:
    if vehicle is None:
        return None
    from dampkit.bench.toml_file import declared
    from dampkit.needs.declared import VehicleSpec

    return declared(vehicle, VehicleSpec)


def _suited(curves: Curves, car: VehicleSpec | None, fitted: Unit) -> VehicleNeeds | None:
    """Without a vehicle the room that works out its needs is not even imported."""
    if car is None:
        return None
    from dampkit.needs.vehicle_needs import vehicle_needs

    return vehicle_needs(curves, car, fitted)
