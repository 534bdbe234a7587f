"""Every signature, asked in turn; what explains another is kept and the other dropped."""

from __future__ import annotations

from collections.abc import Callable

from dampkit.faults import air, discs, fade, friction, gas, oil, play, refill, rod, valves
from dampkit.faults.against import Compared, compare
from dampkit.faults.finding import Finding
from dampkit.faults.judge import Case

SIGNATURES: tuple[Callable[[Case], Finding | None], ...] = (
    rod.bent_rod,
    play.loose_mount,
    air.trapped_air,
    refill.starved_refill,
    gas.low_gas_pressure,
    oil.aerated_oil,
    oil.low_oil,
    fade.fade,
    friction.high_friction,
)
AGAINST: tuple[Callable[[Case, dict[str, Compared]], Finding | None], ...] = (
    valves.valves_swapped,
    valves.valve_stuck_open,
    valves.internal_leak,
    valves.weak_blowoff,
    valves.blocked_bleed,
)
DISCS: tuple[Callable[[Case], Finding | None], ...] = (
    play.loose_mount,
    discs.sticking_discs,
    discs.greased_discs,
    discs.glazed_discs,
)

LATE = ("low_oil", "aerated_oil", "starved_refill", "trapped_air")
VALVES = ("valve_stuck_open", "internal_leak", "weak_blowoff", "blocked_bleed")

# A fault on the left makes the loop look as if it had those on the right: then the right one says nothing.
EXPLAINS: dict[str, tuple[str, ...]] = {
    "bent_rod": (*LATE, *VALVES, "high_friction", "loose_mount", "fade"),
    "valves_swapped": VALVES,
    "valve_stuck_open": (*LATE, "internal_leak", "weak_blowoff"),
    "trapped_air": ("low_oil", "aerated_oil", "starved_refill", *VALVES, "fade"),
    "starved_refill": ("low_oil", "aerated_oil", *VALVES),
    "low_gas_pressure": LATE,
    "aerated_oil": ("low_oil", *VALVES),
    "fade": (*VALVES, "starved_refill", "trapped_air"),
}


def diagnose(case: Case) -> tuple[Finding, ...]:
    """The faults that the log shows, most likely first."""
    if case.kind == "friction-disc":
        made = [signature(case) for signature in DISCS]
    elif case.damper.rebound is None:
        return ()
    else:
        compared = compare(case)
        made = [*(s(case) for s in SIGNATURES), *(s(case, compared) for s in AGAINST)]
        if fade.short_when_cold(case):  # a leak that was there from the start warms and grows: it explains the fade
            made = [f for f in made if f is None or f.code != "fade" or not any(g and g.code in VALVES for g in made)]
    return explained([f for f in made if f is not None])


def explained(made: list[Finding]) -> tuple[Finding, ...]:
    """The findings that no surer one explains, most likely first. Two suspicions alike both stand."""
    kept = [f for f in made if not any(f.code in EXPLAINS.get(by.code, ()) and _outranks(by, f) for by in made)]
    return tuple(sorted(kept, key=lambda f: -f.likelihood))


def _outranks(by: Finding, f: Finding) -> bool:
    if by.level == f.level:
        return by.level == "found" or by.likelihood > f.likelihood
    return by.level == "found"
