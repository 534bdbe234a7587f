"""The whole job: read -> curves -> damper -> faults -> needs -> outcome. (Rooms are imported late: start-up stays quick.)"""

from __future__ import annotations

from typing import TYPE_CHECKING

from dampkit.job import Job, Source

if TYPE_CHECKING:
    from dampkit.bench.points import Points
    from dampkit.bench.run import Run
    from dampkit.bench.test import Test
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
    run: Run | Points | Test,
    damper: DamperSpec | Source = None,
    vehicle: VehicleSpec | Source = None,
    *,
    inspection: InspectionSpec | Source = None,
    costs: CostSpec | Source = None,
    stock: Stock | Source = None,
) -> Result:
    """Everything that one log, or one test in several records, says about one unit, and for one vehicle.

    `damper` and `vehicle` are TOML files, their content as a mapping, or what was read from them; either may be left
    out, and the result says what is left out with it. `inspection` is what eyes found, `costs` the prices of the
    workshop, `stock` the drills, springs, shims and oils it has; each likewise. Raises BadSettings for an unusable one,
    CannotAnalyse where the log holds no full cycle.
    """
    return analyse_job(run, Job.load(None, damper, vehicle, inspection, costs, stock))


def analyse_job(run: Run | Points | Test, job: Job) -> Result:
    """As `analyse`, with everything declared as one object; its bench is the one that the run was read with."""
    from dampkit.curves.trace import measured_of
    from dampkit.damper.identify import identify
    from dampkit.faults.diagnose import diagnose
    from dampkit.faults.under_test import UnderTest
    from dampkit.outcome.conclude import conclude
    from dampkit.report.sentences import worded

    measured = measured_of(run)
    unit = identify(measured, job.damper)
    # what is expected of a known-good unit is worked out as it is asked for
    test = UnderTest(measured, unit, job.damper)
    diagnosis = diagnose(test)
    return worded(conclude(test, diagnosis, _needs(measured, job, unit), job))


def _needs(measured: Curves | Points, job: Job, unit: Unit) -> VehicleNeeds | None:
    """Without a vehicle, or of a unit that damps no wheel, the room that works out its needs is not even imported."""
    from dampkit.damper.kinds import facts_of

    if job.vehicle is None or not facts_of(None if job.damper is None else job.damper.damper.kind).damps_wheel:
        return None
    from dampkit.needs.vehicle_needs import vehicle_needs

    return vehicle_needs(measured, job.vehicle, unit)
