"""What the vehicle needs, beside what the loops give it."""

from __future__ import annotations

from dampkit.bench.points import Points
from dampkit.curves.loop import Curves
from dampkit.damper.points import SLOW_M_S
from dampkit.damper.unit import Unit
from dampkit.frozen import frozen
from dampkit.needs.corner import Corner, Modes
from dampkit.needs.declared import VehicleSpec
from dampkit.needs.facts import facts
from dampkit.needs.from_file import corner_of, road_of, stops_of
from dampkit.needs.ratio import StageRatio, is_sine, point_ratios, stage_ratios
from dampkit.needs.requirement import Need, needed_forces
from dampkit.needs.ride_check import RideCheck, ride_check
from dampkit.needs.springs.figures import Fact


@frozen
class VehicleNeeds:
    """One unit at one corner. `modes` are undamped; `need` is None where no target ratio is declared.

    `ratios` are over the strokes as run; `rated` over sines of the same peak speeds, which a target ratio is meant for.
    `ride` is None where a direction of the unit has no fit, without a unit, or where nobody `asked`.
    """

    corner: Corner
    modes: Modes
    ratios: tuple[StageRatio, ...]
    rated: tuple[StageRatio, ...]
    need: Need | None
    facts: tuple[Fact, ...] = ()
    ride: RideCheck | None = None
    asked: bool = True


def vehicle_needs(measured: Curves | Points, vehicle: VehicleSpec, unit: Unit, *, ride: bool = True) -> VehicleNeeds:
    """Raises BadSettings where the vehicle's parts do not go together."""
    corner = corner_of(vehicle)
    need = needed_forces(corner)
    rides = ride_check(unit, corner, need, road_of(vehicle), stops_of(vehicle.stops)) if ride else None
    if isinstance(measured, Points):
        ratios = rated = point_ratios(unit, corner)
    else:
        ratios = rated = stage_ratios(measured.loops, corner, unit.taken_out, measured.run)
        if not all(is_sine(x) for x in measured.loops if x.peak_velocity_m_s > SLOW_M_S):
            rated = point_ratios(unit, corner) or ratios
    return VehicleNeeds(corner, corner.modes(), ratios, rated, need, facts(vehicle), rides, ride)


def bare(vehicle: VehicleSpec) -> VehicleNeeds:
    """The vehicle alone, without any unit. Raises BadSettings where its parts do not go together."""
    corner = corner_of(vehicle)
    return VehicleNeeds(corner, corner.modes(), (), (), needed_forces(corner), facts(vehicle))
