"""Words for what is done about a fault: why it matters and the next step. Common practice of damper rebuilding, no source."""

from __future__ import annotations

UNKNOWN_REMEDY = ("the log shows a fault", "Open the unit and look for the cause named above.")

# code, or code:kind of unit where its parts are others -> why, and the next step
REMEDIES: dict[str, tuple[str, str]] = {
    "bent_rod": (
        "one slow pass shows a tight place, not what makes it; a bent rod wears the guide and the bore and may break",
        "Do not fit it. Turn the rod 90 and 180 degrees and repeat the slow pass: a tight place that goes round with the rod is a bent rod, one that stays is the bore. Put the answer into the inspection sheet (tight_place_turned), and whether the rod can be renewed or rechromed (rod_renewable) or the bore sleeved (bore_sleevable).",
    ),
    "low_oil": (
        "oil that is missing has gone somewhere: topping up alone only puts it off",
        "Find the leak, renew the seals, fill with the right oil, prime upright with a dozen full strokes, test again.",
    ),
    "low_oil:lever-arm": (
        "oil that is missing has gone somewhere: topping up alone only puts it off",
        "Find the leak, most often the shaft's seal, and renew it; look for play of the shaft in its bore. Fill to the filler's level and leave its air space, work the arm through a dozen full strokes, top up, test again.",
    ),
    "trapped_air": (
        "air left in after filling or lying on its side comes out within about a dozen strokes",
        "Stand it upright, prime with a dozen full strokes, test again. If lost motion stays, treat it as low oil.",
    ),
    "aerated_oil": (
        "air mixed into the oil makes it soft at every reversal and gets worse with work",
        "Let it rest upright for ten minutes and test again. If it comes back, rebuild: new oil, gas and seals.",
    ),
    "low_gas_pressure": (
        "without its gas pressure the oil breaks up at speed and the next stroke starts empty",
        "Find the leak (gas valve, floating piston seal), then re-gas to the maker's pressure with the maker's tools.",
    ),
    "internal_leak": (
        "oil passes the piston or a valve seat instead of going through the valve",
        "Open it. Measure piston, ring, bore and seats; renew what leaks. A bore scored beyond honing means replace.",
    ),
    "weak_blowoff": (
        "the blow-off opens too early, so the force above it is missing",
        "Open it. Check the blow-off spring or shims and their seat against the specification; set or renew them.",
    ),
    "blocked_bleed": (
        "a blocked bleed makes the slow force too high",
        "Open it and clean the bleed passage; look for where the dirt came from; flush and refill with filtered oil.",
    ),
    "high_friction": (
        "rod, guide or seal drags: the wheel cannot follow small bumps and the parts wear",
        "Check first that the bench does not push the rod sideways, or by no more than the side load declared. Then open it: guide, seal, rod finish.",
    ),
    "high_friction:lever-arm": (
        "shaft, bush or seal drags: the wheel cannot follow small bumps and the parts wear",
        "Check first that the bench's link pulls in the plane of the arm and that the clamps do not bend the body. Then open it: shaft in its bore, seal, pistons; prime, test again.",
    ),
    "fade": (
        "the force falls more with heat than sound oil and clearances allow",
        "Let it cool and test again at a known temperature. If it fades again: right grade of oil, check clearances.",
    ),
    "loose_mount": (
        "play in an eye, bush or bench joint hides what the damper does at each reversal",
        "Tighten the fixture, renew the worn bush or eye, and test again before opening the unit.",
    ),
    "starved_refill": (
        "the refill valve passes too little, so each stroke starts empty and the lost motion grows with speed",
        "Open it. Free the refill valve, clean its passage, check oil level and grade, prime, test again.",
    ),
    "starved_refill:lever-arm": (
        "the refill valve passes too little, so each stroke starts empty and the lost motion grows with speed",
        "Open it. See that the refill valves' balls are free and their seats not hammered, and that the vent is open; re-cut the seat or renew the valve. Check oil level and grade, prime, test again.",
    ),
    "valve_stuck_open": (
        "a valve that stays open leaves the unit without force in that direction",
        "Take it off the car. Open it; look for dirt, a broken spring or shim at the seat; clean or renew, test again.",
    ),
    "valves_swapped": (
        "rebound and compression valves are the wrong way round",
        "Open it and put each valve in its place; check the piston's and the foot valve's order, prime, test again.",
    ),
    "uneven_sides": (
        "one direction's valve is held open or shut, worn or wrongly set, so the steering is steadied one way only",
        "Open it, or fit another where it cannot be opened: look at the weaker direction's valve and seat, fill, prime, test again. If the maker wants unlike forces, declare them as [reference].",
    ),
    "sticking_discs": (
        "the discs stick before they slide, so small bumps reach the car",
        "Strip it without grinding or blowing the linings (asbestos): clean or renew discs, run in, set the clamp, test.",
    ),
    "greased_discs": (
        "grease or oil on the discs takes away their grip",
        "Strip and clean the discs without blowing or grinding (asbestos), renew soaked linings, run in, test again.",
    ),
    "glazed_discs": (
        "glazed discs have lost their grip",
        "Renew or break the glaze wet, never dry (asbestos); run in, set the clamp, test again.",
    ),
}


def remedy(code: str, kind: str | None = None) -> tuple[str, str]:
    """Why a fault of a unit of that kind matters, and the next step."""
    return REMEDIES.get(f"{code}:{kind}") or REMEDIES.get(code, UNKNOWN_REMEDY)
