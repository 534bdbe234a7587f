"""The whole job: read -> curves -> damper -> faults -> needs -> outcome. (Rooms are imported late: start-up stays quick.)"""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from dampkit.bench.run import Run
    from dampkit.damper.declared import DamperSpec
    from dampkit.needs.declared import VehicleSpec
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
    from dampkit.needs.declared import VehicleSpec
    from dampkit.needs.suit import suit
    from dampkit.outcome.conclude import conclude
    from dampkit.outcome.extras import extras

    more = extras(stock, inspection, costs)
    unit, car = declared(damper, DamperSpec), declared(vehicle, VehicleSpec)
    curves = trace(run)
    fitted = identify(curves, unit)
    faults = diagnose(Case(curves, fitted, unit))
    suited = suit(curves, car, fitted)
    return conclude(Case(curves, fitted, unit), faults, suited, more)
