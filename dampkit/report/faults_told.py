"""All that is said of a fault, a row each: to the mechanic, to the customer, to the car's owner; and what is done about it.

Common practice of damper rebuilding, no source. Templates, no logic; figures in braces are made by the writer, so that
other units stand beside them where asked for.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import field

from dampkit.frozen import frozen

WITHOUT_READING = "no reading"  # of `instead`: where no reading is among the fault's measures
OPEN_IT = "The damper is opened and {what}; then it gets new seals and fresh oil."


@frozen
class Told:
    """`found` is what a mechanic would say, with the figures of the finding, of its measures by key, and its direction.

    `instead`: the same by the measure that leads, or by the kind of unit. `why` it matters, and what to `do`, as ends of a
    reason and as a step; `of_kind`: both where a kind's parts are others. `plain`, `unchecked` and `work` are without
    any term of the trade: what it means, what nobody has checked where it was not looked for, and what is done.
    """

    name: str
    found: str
    why: str
    do: str
    plain: str
    unchecked: str
    work: str
    instead: Mapping[str, str] = field(default_factory=dict)
    of_kind: Mapping[str, tuple[str, str]] = field(default_factory=dict)


TOLD: dict[str, Told] = {
    "bent_rod": Told(
        name="bent rod or scored bore",
        found="Rod bent or bore scored: {tight_place} more friction {place} than mid-stroke, on the way out and in alike",
        why="one slow pass shows a tight place, not what makes it; a bent rod wears the guide and the bore and may break",
        do="Do not fit it. Turn the rod 90 and 180 degrees and repeat the slow pass: a tight place that goes round with the rod is a bent rod, one that stays is the bore. Put the answer into the inspection sheet (tight_place_turned), and whether the rod can be renewed or rechromed (rod_renewable) or the bore sleeved (bore_sleevable).",
        plain="It catches at one place. Its rod is bent there, or its tube is damaged; a bent rod may break.",
        unchecked="whether its rod is straight",
        work="We turn the rod and test it again, to see whether it is the rod or the tube that catches. Then we tell you whether it can be repaired.",
    ),
    "high_friction": Told(
        name="high friction",
        found="Friction high: {friction} in both directions (gland, guide, rod or side load)",
        why="rod, guide or seal drags: the wheel cannot follow small bumps and the parts wear",
        do="Check first that the bench does not push the rod sideways, or by no more than the side load declared. Then open it: guide, seal, rod finish.",
        plain="Something in it rubs. The car will feel harsh over small bumps, and the parts wear.",
        unchecked="whether it rubs too much",
        work=OPEN_IT.format(what="the parts that rub are renewed"),
        instead={
            "even_excess": "Friction high: {even_excess} more than the good unit's at every speed and in both directions alike; no valve setting does that (gland, guide, shaft, rod or side load)",
            "lever-arm": "Friction high: {friction} in both directions (shaft in its bore, seal, or a link that pulls askew)",
        },
        of_kind={
            "lever-arm": (
                "shaft, bush or seal drags: the wheel cannot follow small bumps and the parts wear",
                "Check first that the bench's link pulls in the plane of the arm and that the clamps do not bend the body. Then open it: shaft in its bore, seal, pistons; prime, test again.",
            ),
        },
    ),
    "loose_mount": Told(
        name="play",
        found="Play: {play} of travel at one force after both reversals, the same at every speed (loose mount or bush, arm joint, or piston nut)",
        why="play in an eye, bush or bench joint hides what the damper does at each reversal",
        do="Tighten the fixture, renew the worn bush or eye, and test again before opening the unit.",
        plain="Something in its fixings has play, so it knocks and does nothing for a moment at each change of direction.",
        unchecked="whether its fixings have play",
        work="The worn fixing or bush is tightened or renewed, and the damper is tested again before anything else is done.",
    ),
    "low_oil": Told(
        name="low oil",
        found="Oil level low: {late} of lost motion entering {direction}, slow stages included",
        why="oil that is missing has gone somewhere: topping up alone only puts it off",
        do="Find the leak, renew the seals, fill with the right oil, prime upright with a dozen full strokes, test again.",
        plain="It has lost oil. For part of each movement it does nothing, so the wheel can bounce before it takes hold.",
        unchecked="whether all of its oil is there",
        work=OPEN_IT.format(what="the leak is found and mended"),
        of_kind={
            "lever-arm": (
                "oil that is missing has gone somewhere: topping up alone only puts it off",
                "Find the leak, most often the shaft's seal, and renew it; look for play of the shaft in its bore. Fill to the filler's level and leave its air space, work the arm through a dozen full strokes, top up, test again.",
            ),
        },
    ),
    "aerated_oil": Told(
        name="aerated oil",
        found="Oil aerated: force builds up softly over {late} entering {direction}, and in the other direction too",
        why="air mixed into the oil makes it soft at every reversal and gets worse with work",
        do="Let it rest upright for ten minutes and test again. If it comes back, rebuild: new oil, gas and seals.",
        plain="Its oil is full of bubbles, so it is soft each time the wheel changes direction.",
        unchecked="whether there are bubbles in its oil",
        work=OPEN_IT.format(what="cleaned"),
    ),
    "trapped_air": Told(
        name="trapped air",
        found="Air trapped: lost motion entering {direction} went down by {late_clears} within the first stages; it clears",
        why="air left in after filling or lying on its side comes out within about a dozen strokes",
        do="Stand it upright, prime with a dozen full strokes, test again. If lost motion stays, treat it as low oil.",
        plain="There is air in it from filling or storing. That often comes out with a few slow strokes.",
        unchecked="whether there is air in it",
        work="We stand it upright and move it slowly until the air is out. If that does not help, it has to be opened.",
    ),
    "starved_refill": Told(
        name="starved refill valve",
        found="Refill starved: {late_grows} more lost motion entering {direction} at speed than slow (refill or foot valve sticks, or its passage is shut)",
        why="the refill valve passes too little, so each stroke starts empty and the lost motion grows with speed",
        do="Open it. Free the refill valve, clean its passage, check oil level and grade, prime, test again.",
        plain="A valve inside sticks, so part of each movement is empty.",
        unchecked="whether its oil can flow back fast enough",
        work=OPEN_IT.format(what="the part that sticks is freed"),
        of_kind={
            "lever-arm": (
                "the refill valve passes too little, so each stroke starts empty and the lost motion grows with speed",
                "Open it. See that the refill valves' balls are free and their seats not hammered, and that the vent is open; re-cut the seat or renew the valve. Check oil level and grade, prime, test again.",
            ),
        },
    ),
    "low_gas_pressure": Told(
        name="low gas pressure",
        found="Gas pressure low: about {gas_pressure} on the gauge at the temperature and place of the declared charge",
        why="without its gas pressure the oil breaks up at speed and the next stroke starts empty",
        do="Find the leak (gas valve, floating piston seal), then re-gas to the maker's pressure with the maker's tools.",
        plain="It has lost much of its gas. On rough roads it stops working properly.",
        unchecked="whether its gas is all there",
        work="The place where the gas escapes is found and mended, and the damper is filled with gas again.",
        instead={
            "gas_short": "Gas pressure too low for its own forces: about {gas_short} over the air, and entering compression {gas_yields} more travel without force at {velocity} than slow",
        },
    ),
    "fade": Told(
        name="fade",
        found="Fades: {work_lost} less work per cycle at the end of the run, where warm oil alone would cost {expected}; the loop keeps its shape",
        why="the force falls more with heat than sound oil and clearances allow",
        do="Let it cool and test again at a known temperature. If it fades again: right grade of oil, check clearances.",
        plain="It becomes weaker as it gets hot, more than a sound one does.",
        unchecked="whether it gets weaker when it is hot",
        work="We let it cool and test it again. If it gets weak once more, it is opened and filled with the right oil.",
    ),
    "internal_leak": Told(
        name="internal leak",
        found="Internal leak: {direction} force at {velocity} is {off} under the reference, most of it missing at low speed",
        why="oil passes the piston or a valve seat instead of going through the valve",
        do="Open it. Measure piston, ring, bore and seats; renew what leaks. A bore scored beyond honing means replace.",
        plain="Oil slips past its inner parts, so it holds the wheel too weakly.",
        unchecked="whether oil slips past its inner parts",
        work=OPEN_IT.format(what="the worn parts inside are renewed"),
    ),
    "weak_blowoff": Told(
        name="weak blow-off",
        found="Blow-off weak: {direction} opens at {opens} of the good force; the force at {velocity} is {off} under the reference",
        why="the blow-off opens too early, so the force above it is missing",
        do="Open it. Check the blow-off spring or shims and their seat against the specification; set or renew them.",
        plain="A spring inside has gone tired, so it is too weak in fast movements.",
        unchecked="whether it is too weak in fast movements",
        work=OPEN_IT.format(what="the tired spring inside is set or renewed"),
        instead={
            "short_of_rubbing": "Blow-off weak: {direction} opens at {opens} of the good force; what rubs hides it: without that the force at {velocity} is {off} under the reference",
            WITHOUT_READING: "Blow-off weak: {direction} opens at {opens} of the good force",
        },
    ),
    "blocked_bleed": Told(
        name="blocked bleed",
        found="Bleed blocked: {direction} force at {velocity} is {over} the reference; the bleed passes {ratio} times what it should",
        why="a blocked bleed makes the slow force too high",
        do="Open it and clean the bleed passage; look for where the dirt came from; flush and refill with filtered oil.",
        plain="A small passage inside is blocked, so it is too stiff in slow movements.",
        unchecked="whether it is too stiff in slow movements",
        work=OPEN_IT.format(what="the blocked passage is cleaned"),
    ),
    "valve_stuck_open": Told(
        name="valve held open",
        found="Valve held open: {direction} force at {velocity} is {off} under the reference; the bleed passes {ratio} times what it should",
        why="a valve that stays open leaves the unit without force in that direction",
        do="Take it off the car. Open it; look for dirt, a broken spring or shim at the seat; clean or renew, test again.",
        plain="A valve inside stays open, so it does almost nothing in one direction.",
        unchecked="whether something inside stays open",
        work=OPEN_IT.format(what="the part that stays open is cleaned or renewed"),
    ),
    "valves_swapped": Told(
        name="valves changed over",
        found="Valves changed over: each direction makes the other's force (check the signs of the log first)",
        why="rebound and compression valves are the wrong way round",
        do="Open it and put each valve in its place; check the piston's and the foot valve's order, prime, test again.",
        plain="Two valves inside have been put in the wrong way round.",
        unchecked="whether its inner parts are the right way round",
        work=OPEN_IT.format(what="the parts are put the right way round"),
    ),
    "uneven_sides": Told(
        name="directions unlike",
        found="Directions unlike: {direction} makes {unlike} less than the other way at {velocity}, and this kind is to be alike both ways",
        why="one direction's valve is held open or shut, worn or wrongly set, so the steering is steadied one way only",
        do="Open it, or fit another where it cannot be opened: look at the weaker direction's valve and seat, fill, prime, test again. If the maker wants unlike forces, declare them as [reference].",
        plain="It steadies the steering one way more than the other.",
        unchecked="whether it is as firm one way as the other",
        work="The weaker side is opened, cleaned or renewed; where that cannot be done, another damper is needed.",
    ),
    "sticking_discs": Told(
        name="sticking discs",
        found="Discs stick: it takes {breakaway} times the sliding force to start",
        why="the discs stick before they slide, so small bumps reach the car",
        do="Strip it without grinding or blowing the linings (asbestos): clean or renew discs, run in, set the clamp, test.",
        plain="Its friction discs stick before they slide, so small bumps come through.",
        unchecked="whether its discs stick",
        work="It is taken apart, its friction discs are cleaned or renewed, and it is set again.",
    ),
    "greased_discs": Told(
        name="greased discs",
        found="Discs greased: force grows by {rises} per m/s of speed",
        why="grease or oil on the discs takes away their grip",
        do="Strip and clean the discs without blowing or grinding (asbestos), renew soaked linings, run in, test again.",
        plain="There is grease on its friction discs, so they do not grip.",
        unchecked="whether its discs are clean",
        work="It is taken apart, its friction discs are cleaned or renewed, and it is set again.",
    ),
    "glazed_discs": Told(
        name="glazed discs",
        found="Discs glazed or clamp slack: force is {weak} under the reference at every speed",
        why="glazed discs have lost their grip",
        do="Renew or break the glaze wet, never dry (asbestos); run in, set the clamp, test again.",
        plain="Its friction discs are polished smooth and have lost their grip.",
        unchecked="whether its discs still grip",
        work="Its friction discs are renewed or freshened, and it is set again.",
    ),
}

UNKNOWN_REMEDY = ("the log shows a fault", "Open the unit and look for the cause named above.")


def remedy(code: str, kind: str | None = None) -> tuple[str, str]:
    """Why a fault of a unit of that kind matters, and the next step."""
    told = TOLD.get(code)
    return UNKNOWN_REMEDY if told is None else told.of_kind.get(kind or "", (told.why, told.do))


def sentence_of(code: str, leading: str, kind: str | None, *, read: bool) -> str | None:
    """The template that fits best: by the measure that leads, by the kind of unit; `read`: a reading is among them."""
    told = TOLD.get(code)
    if told is None:
        return None
    keys = (leading, kind or "") if read else (WITHOUT_READING, leading, kind or "")
    return next((told.instead[key] for key in keys if key in told.instead), told.found)
