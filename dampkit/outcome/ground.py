"""A verdict and the grounds it stands on: keys and figures, no words; and what a fault asks for. The words are in report/."""

from __future__ import annotations

from typing import Literal

from dampkit.frozen import frozen
from dampkit.outcome.decision_record import Action
from dampkit.quantities import Direction

LOOK_FIRST = "look_then_set"  # the step where faults of the valve could not be looked for
FIRST = ("data", "declare_bench", "renew_bush", "which_way_is_out")  # steps before which nothing in the unit is judged
# What a stroke by hand without dead travel at either turn rules out; common practice of damper rebuilding, no source
FELT_BY_HAND = ("low_oil", "aerated_oil", "trapped_air", "loose_mount")
# What would make a passed unit unsafe; some of it is ruled out where every force asked for is in
SHOWN_BY_FORCE = ("weak_blowoff", "internal_leak", "valve_stuck_open", "uneven_sides")
UNSAFE = ("low_oil", "loose_mount", *SHOWN_BY_FORCE)
OF_A_VALVE = ("weak_blowoff", "internal_leak", "valve_stuck_open", "blocked_bleed")
SIDED = (*OF_A_VALVE, "valves_swapped")  # held against the reference of each direction
PUT_RIGHT = (*OF_A_VALVE, "greased_discs", "glazed_discs")  # never set round


@frozen
class Ground:
    """One ground of a verdict: its kind, what it is about (a code), and its figures."""

    key: str
    about: str = ""
    direction: Direction | None = None
    figures: tuple[tuple[str, float], ...] = ()


@frozen
class Verdict:
    """`step` names the next step (see the sentences of the report)."""

    action: Action
    grounds: tuple[Ground, ...]
    step: str

    @property
    def sound(self) -> bool:
        """Nothing but its setting is against the unit, and its valves were looked at: what an advice is drawn for."""
        return self.action == "adjust" and self.step != LOOK_FIRST

    @property
    def open(self) -> bool:
        """No valve is judged before data, mounting or direction are put right."""
        return self.step in FIRST


Work = Literal["replace", "rebuild", "retest"]
_LOST_MOTION = ("low_oil", "trapped_air", "aerated_oil")


@frozen
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
