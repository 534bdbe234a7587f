"""Fault -> what to do about it, and why. Common practice of damper rebuilding, no source, except where one is named."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Work = Literal["replace", "rebuild", "retest"]


@dataclass(frozen=True)
class Course:
    """`clouds`: faults that cannot be told while this one is there, because it makes the same signs."""

    action: Work
    why: str
    next_step: str
    clouds: tuple[str, ...] = ()


_LOST_MOTION = ("low_oil", "trapped_air", "aerated_oil")

REMEDIES: dict[str, Remedy] = {
    "bent_rod": Course(
        "replace",
        "a bent rod cannot be straightened safely; it wears the guide and the bore and may break",
        "Take it out of use. Fit another unit, or have a new rod fitted if the maker allows it and the bore is sound.",
    ),
    "low_oil": Course(
        "rebuild",
        "oil that is missing has gone somewhere: topping up alone only puts it off",
        "Find the leak, renew the seals, fill with the right oil, prime upright with a dozen full strokes, test again.",
    ),
    "trapped_air": Course(
        "retest",
        "air left in after filling or lying on its side comes out within about a dozen strokes",
        "Stand it upright, prime with a dozen full strokes, test again. If lost motion stays, treat it as low oil.",
        clouds=("low_oil",),
    ),
    "aerated_oil": Course(
        "rebuild",
        "air mixed into the oil makes it soft at every reversal and gets worse with work",
        "Let it rest upright for ten minutes and test again. If it comes back, rebuild: new oil, gas and seals.",
    ),
    "low_gas_pressure": Course(
        "rebuild",
        "without its gas pressure the oil breaks up at speed and the next stroke starts empty",
        "Find the leak (gas valve, floating piston seal), then re-gas to the maker's pressure with the maker's tools.",
    ),
    "internal_leak": Course(
        "rebuild",
        "oil passes the piston or a valve seat instead of going through the valve",
        "Open it. Measure piston, ring, bore and seats; renew what leaks. A bore scored beyond honing means replace.",
    ),
    "weak_blowoff": Course(
        "rebuild",
        "the blow-off opens too early, so the force above it is missing",
        "Open it. Check the blow-off spring or shims and their seat against the specification; set or renew them.",
    ),
    "blocked_bleed": Course(
        "rebuild",
        "a blocked bleed makes the slow force too high",
        "Open it and clean the bleed passage; look for where the dirt came from; flush and refill with filtered oil.",
    ),
    "high_friction": Course(
        "rebuild",
        "rod, guide or seal drags: the wheel cannot follow small bumps and the parts wear",
        "Check first that the bench does not push the rod sideways. Then open it: guide, seal, rod finish.",
    ),
    "fade": Course(
        "rebuild",
        "the force falls more with heat than sound oil and clearances allow",
        "Let it cool and test again at a known temperature. If it fades again: right grade of oil, check clearances.",
    ),
    "loose_mount": Course(
        "retest",
        "play in an eye, bush or bench joint hides what the damper does at each reversal",
        "Tighten the fixture, renew the worn bush or eye, and test again before opening the unit.",
        clouds=_LOST_MOTION,
    ),
    "starved_refill": Course(
        "rebuild",
        "the refill valve passes too little, so each stroke starts empty and the lost motion grows with speed",
        "Open it. Free the refill valve, clean its passage, check oil level and grade, prime, test again.",
    ),
    "valve_stuck_open": Course(
        "rebuild",
        "a valve that stays open leaves the unit without force in that direction",
        "Take it off the car. Open it; look for dirt, a broken spring or shim at the seat; clean or renew, test again.",
    ),
    "valves_swapped": Course(
        "rebuild",
        "rebound and compression valves are the wrong way round",
        "Open it and put each valve in its place; check the piston's and the foot valve's order, prime, test again.",
    ),
    "sticking_discs": Course(
        "rebuild",
        "the discs stick before they slide, so small bumps reach the car",
        "Strip it without grinding or blowing the linings (asbestos): clean or renew discs, run in, set the clamp, test.",
    ),
    "greased_discs": Course(
        "rebuild",
        "grease or oil on the discs takes away their grip",
        "Strip and clean the discs without blowing or grinding (asbestos), renew soaked linings, run in, test again.",
    ),
    "glazed_discs": Course(
        "rebuild",
        "glazed discs have lost their grip",
        "Renew or break the glaze wet, never dry (asbestos); run in, set the clamp, test again.",
    ),
}

UNKNOWN_FAULT = Course("rebuild", "the log shows a fault", "Open the unit and look for the cause named above.")


def remedy_for(code: str) -> Course:
    """The course for a fault code; a general one for a code without an entry."""
    return COURSES.get(code, UNKNOWN_FAULT)
