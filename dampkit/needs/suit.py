"""What the vehicle needs, beside what the loops give it."""

from __future__ import annotations

from dataclasses import dataclass

from dampkit.curves.loop import Curves
from dampkit.needs.corner import Corner, Modes, corner_of
from dampkit.needs.declared import VehicleSpec
from dampkit.needs.ratio import StageRatio, stage_ratios
from dampkit.needs.requirement import Need, needed_forces


@dataclass(frozen=True)
class Suit:
    """One unit at one corner. `modes` are undamped; `need` is None where no target ratio is declared."""

    corner: Corner
    modes: Modes
    ratios: tuple[StageRatio, ...]
    need: Need | None


def suit(curves: Curves, vehicle: VehicleSpec | None) -> Suit | None:
    """None without a vehicle."""
    if vehicle is None:
        return None
    corner = corner_of(vehicle)
    return Suit(corner, corner.modes(), stage_ratios(curves.loops, corner, curves.run), needed_forces(corner))
