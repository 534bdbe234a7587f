"""Fault -> what to do about it. Common practice of damper rebuilding, no source. The words are in report/."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Work = Literal["replace", "rebuild", "retest"]
_LOST_MOTION = ("low_oil", "trapped_air", "aerated_oil")


@dataclass(frozen=True)
class Remedy:
    """`clouds`: faults that cannot be told while this one is there, because it makes the same signs."""

    action: Work
    clouds: tuple[str, ...] = ()


REMEDIES: dict[str, Remedy] = {
    "bent_rod": Remedy("retest"),
    "low_oil": Remedy("rebuild"),
    "trapped_air": Remedy("retest", ("low_oil",)),
    "aerated_oil": Remedy("rebuild"),
    "low_gas_pressure": Remedy("rebuild"),
    "internal_leak": Remedy("rebuild"),
    "weak_blowoff": Remedy("rebuild"),
    "blocked_bleed": Remedy("rebuild"),
    "high_friction": Remedy("rebuild"),
    "fade": Remedy("rebuild"),
    "loose_mount": Remedy("retest", _LOST_MOTION),
    "starved_refill": Remedy("rebuild"),
    "valve_stuck_open": Remedy("rebuild"),
    "valves_swapped": Remedy("rebuild"),
    "uneven_sides": Remedy("rebuild"),
    "sticking_discs": Remedy("rebuild"),
    "greased_discs": Remedy("rebuild"),
    "glazed_discs": Remedy("rebuild"),
}
UNKNOWN = Remedy("rebuild")


def remedy_for(code: str) -> Remedy:
    """The remedy for a fault code; a general one for a code without an entry."""
    return REMEDIES.get(code, UNKNOWN)
