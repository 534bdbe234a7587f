"""Words for what was found: faults, measures, bases, remedies, needs, steps. Templates over typed figures; no logic here.

Figures in braces are made by the writer, so that other units stand beside them where asked for.
"""

from __future__ import annotations

# code -> what a mechanic would say; figures: those of the finding, its measures by key, its direction
FAULTS: dict[str, str] = {
    "bent_rod": "Rod bent or bore scored: {tight_place} more friction at {place} from mid-stroke, out and in alike",
    "high_friction": "Friction high: {friction} in both directions (gland, guide, rod or side load)",
    "high_friction:even_excess": "Friction high: {even_excess} more than the good unit's at every speed and in both directions alike; no valve setting does that (gland, guide, shaft, rod or side load)",
    "loose_mount": "Play: {play} of travel at one force after both reversals, the same at every speed (loose mount or bush, arm joint, or piston nut)",
    "low_oil": "Oil level low: {late} of lost motion entering {direction}, slow stages included",
    "aerated_oil": "Oil aerated: force builds up softly over {late} entering {direction}, and in the other direction too",
    "trapped_air": "Air trapped: lost motion entering {direction} went down by {late_clears} within the first stages; it clears",
    "starved_refill": "Refill starved: {late_grows} more lost motion entering {direction} at speed than slow (refill or foot valve sticks, or its passage is shut)",
    "low_gas_pressure": "Gas pressure low: about {gas_pressure} over the air where the declared charge holds",
    "low_gas_pressure:gas_short": "Gas pressure too low for its own forces: about {gas_short} over the air, and entering compression {gas_yields} more travel without force at {velocity} than slow",
    "fade": "Fades: {work_lost} less work per cycle at the end of the run, where its own oil and leak make {expected}; loop shape kept",
    "internal_leak": "Internal leak: {direction} force at {velocity} is {off} under the reference, most of it missing at low speed",
    "weak_blowoff": "Blow-off weak: {direction} opens at {opens} of the good force; the force at {velocity} is {off} under the reference",
    "weak_blowoff:short_of_rubbing": "Blow-off weak: {direction} opens at {opens} of the good force; what rubs hides it: without that the force at {velocity} is {off} under the reference",
    "blocked_bleed": "Bleed blocked: {direction} force at {velocity} is {off} over the reference; the bleed passes {ratio} times what it should",
    "valve_stuck_open": "Valve held open: {direction} force at {velocity} is {off} under the reference; the bleed passes {ratio} times what it should",
    "valves_swapped": "Valves changed over: each direction makes the other's force (check the signs of the log first)",
    "uneven_sides": "Directions unlike: {direction} makes {unlike} less than the other way at {velocity}, and this kind is to be alike both ways",
    "sticking_discs": "Discs stick: it takes {breakaway} times the sliding force to start",
    "greased_discs": "Discs greased: force grows by {rises} per m/s of speed",
    "glazed_discs": "Discs glazed or clamp slack: force is {weak} under the reference at every speed",
}

# the same where no reading is among its measures
WITHOUT_READING: dict[str, str] = {"weak_blowoff": "Blow-off weak: {direction} opens at {opens} of the good force"}

# code -> a short name, for lists
NAMES: dict[str, str] = {
    "bent_rod": "bent rod or scored bore",
    "high_friction": "high friction",
    "loose_mount": "play",
    "low_oil": "low oil",
    "aerated_oil": "aerated oil",
    "trapped_air": "trapped air",
    "starved_refill": "starved refill valve",
    "low_gas_pressure": "low gas pressure",
    "fade": "fade",
    "internal_leak": "internal leak",
    "weak_blowoff": "weak blow-off",
    "blocked_bleed": "blocked bleed",
    "valve_stuck_open": "valve held open",
    "valves_swapped": "valves changed over",
    "uneven_sides": "directions unlike",
    "sticking_discs": "sticking discs",
    "greased_discs": "greased discs",
    "glazed_discs": "glazed discs",
}

# key of a measure -> its words; {direction} and {velocity} are the measure's own
MEASURES: dict[str, str] = {
    "friction": "friction",
    "even_excess": "force over the reference that every speed and both directions share",
    "tight_place": "friction at the tightest place over the usual, less of out and in",
    "play": "travel at one force after both reversals",
    "late": "lost motion entering {direction}, slow stages, play taken off; of a twin tube the travel that its gas takes up",
    "soft": "travel stored by springs and gas entering {direction}, slow stages",
    "with_place": "change of that travel with the outer end of the stroke, over what a void does",
    "still_rises": "force entering {direction} still missing at mid-stroke at {velocity}, of the valve's",
    "comes_after": "force entering {direction} just after mid-stroke over that just before it at {velocity}, of their mean",
    "late_grows": "growth of lost motion entering {direction} up to {velocity}",
    "late_clears": "lost motion entering {direction} that went with the cycles of the first stages",
    "gas_pressure": "gas pressure from the gas force, brought to the declared position and temperature",
    "gas_short": "gas pressure from the gas force, against the drop over the piston in compression",
    "gas_yields": "growth of the travel stored entering compression up to {velocity}",
    "work_lost": "work per cycle lost over the run",
    "warming": "warming over the run",
    "short_when_cold": "force missing before it warmed, in allowances",
    "force_low": "{direction} force missing at {velocity}, in allowances",
    "force_high": "{direction} force beyond the reference at {velocity}, in allowances",
    "leak_takes": "{direction} force that a leak takes at {velocity}, of the reference",
    "bleed_adds": "{direction} force that a smaller bleed adds at {velocity}, of the reference",
    "bleed_takes": "{direction} force that a larger bleed takes at {velocity}, of the reference",
    "blowoff_takes": "{direction} force that an early blow-off takes at {velocity}, of the reference",
    "short_of_rubbing": "{direction} force missing at {velocity} without what rubs alike at every speed, in allowances",
    "opens_at": "{direction} blow-off force over the good unit's",
    "bleed_ratio": "{direction} bleed over the good unit's",
    "off_own": "forces off their own reference, in allowances",
    "off_other": "forces off the other direction's reference, in allowances",
    "own_over_other": "the first over the second",
    "unlike": "{direction} force missing against the other direction at {velocity}, of what that makes",
    "breakaway": "force to start over sliding force",
    "rises_with_speed": "force gained per m/s over the sliding force",
    "sliding_force": "sliding force over the reference",
}

BASES: dict[str, str] = {
    "published": "published: QC/T 491 for telescopic car dampers and struts, a car maker's test memos for levers",
    "common practice": "common practice, no source",
    "own reference": "the unit's own reference and its tolerance",
    "declared": "declared for this unit",
    "expected of this unit": "expected of this unit's own oil and leak",
    "statistical": "statistical",
}

# evidence that a fault needs, as the end of the sentence "Not looked for: ..., needs ..."
NEEDS: dict[str, str] = {
    "loops": "a log of force and displacement over whole strokes",
    "slow_pass": "a slow pass at 5 mm/s",
    "slow_turn": "a slow pass that slows down into its turns, as a crank's does: a triangle wave is past the force to start at once",
    "kind": "the unit's kind ([damper] kind)",
    "slow_stage": "a stage at 0.05 to 0.15 m/s whose force is larger than friction, in both directions",
    "two_speeds": "two speeds",
    "three_speeds": "three speeds, the fastest three times the slowest",
    "first_cycles": "at least three cycles at the first speed, from rest",
    "repeat": "one speed run twice, or six cycles at one speed",
    "temperature": "the unit's temperature in the log",
    "zero": "the load cell's reading with nothing fitted ([zero] force_n)",
    "upright": "the unit upright on the bench: lying, a twin tube draws air even when its level is right",
    "friction_limit": "the most friction that a sound one may have ([damper] friction_limit_n): no limit is known for this kind",
    "rod_diameter": "the rod's diameter (rod_diameter_mm)",
    "reference_declared": "the forces of a known-good unit ([reference])",
    "reference_two_speeds": "the forces of a known-good unit ([reference]) at two or more of the tested speeds, both directions, not all alike",
    "reference": "the forces of a known-good unit ([reference]) at four or more of the tested speeds, both directions",
    "zero_crossing": "a stage in which the force changes sign at both reversals",
    "reading": "a stage that shows it; this test has none",
}

NEXT_TESTS: dict[str, str] = {
    "declare_bench": "Say in the bench file what the remarks on the data ask for; nothing need be measured again for that.",
    "declare_kind": "Say in the damper file what kind of unit it is ([damper] kind).",
    "declare_rod": "Measure the rod with a calliper and write it into the damper file (rod_diameter_mm): without it gas force is no pressure.",
    "declare_friction": "Write the most friction that a sound one of this kind may have into the damper file ([damper] friction_limit_n).",
    "declare_reference": "Declare the forces of a known-good unit as [reference]: without them a leak, a weak blow-off and a blocked bleed are not established.",
    "turn_the_rod": "Turn the rod 90 and 180 degrees and repeat the slow pass: a bent rod's tight place moves, a scored bore's stays.",
    "push_by_hand": "Push the unit by hand with the log running: it shows which sign is compression, before any valve is touched.",
    "slow_pass": "Add one slow pass at 5 mm/s, on a drive that slows down into its turns: without it friction is uncertain and a bent rod, a scored bore or sticking cannot be seen.",
    "read_zero": "Read the cell with nothing fitted and declare it as [zero] force_n: without it the gas pressure is not established.",
    "five_cycles": "Run at least five cycles at the first speed, from rest: fewer do not show whether air clears.",
    "slow_stage": "Add a slow stage, at 0.1 to 0.15 m/s, at which the oil makes more force than friction: a low oil level shows best there.",
    "spread_speeds": "Run three speeds, the fastest three times the slowest or more: what grows with speed shows only so.",
    "open_speeds": "Run the speeds that are still open: a force between two tested speeds that lie far apart is too uncertain to be called in.",
    "repeat_first": "Repeat the first speed at the end, warm: it shows fade, and whether the readings hold.",
    "log_temperature": "Log the unit's temperature too: without it force that is lost to warm oil cannot be told from fade.",
    "stroke_by_hand": "Stroke it by hand, upright and after priming, through both turns: a dead travel shows a low oil level, air or play, which no table of forces does. Write it on the inspection sheet (hand_stroke).",
    "log_strokes": "Log force and displacement over whole strokes: that shows lost motion, air, play and friction by place.",
    "put_right": "Put right what stands against the data or the mounting, then run the whole test again.",
    "side_load": "Slacken the clevises so that the bench cannot push the rod sideways, and repeat the slow pass: friction that goes was the bench's.",
    "stand_upright": "Stand the unit upright, prime it, and run the whole test again: lying, a twin tube draws air even when its level is right.",
    "rest_upright": "Rest the unit upright for ten minutes and rerun: bubbles go, a low level stays low.",
    "other_middle": "Run half the stroke in its inner and in its outer part: lost motion from a low level changes with the place, that of bubbles hardly.",
    "rigid_link": "Run a rigid link in the same clevises: what play is left is the bench's.",
    "faster_stage": "Add a faster stage, if the bench is made for it: one direction has not reached its blow-off, so a weak one would not show.",
    "weigh_the_oil": "Weigh the unit or measure its oil: up to about a tenth of the oil can be gone before any force shows it.",
}

SEEN: dict[str, str] = {
    "rod_straight: no": "The rod is bent: it cannot be straightened safely, and it wears guide and bore.",
    "rod_pitting: in seal travel": "The rod is pitted where the seal runs: no seal will last on it.",
    "bore: scored beyond honing": "The bore is scored beyond honing: no piston ring will seal in it.",
    "body: dented at the bore": "The body is dented at the bore: the piston may stick there.",
    "body: cracked": "The body is cracked: it may burst under pressure.",
    "eyes: cracked": "An eye is cracked: it may let go on the road.",
    "bore: scored, hones out": "The bore is scored but hones out.",
    "leak: damp": "It is damp with oil: the seal has begun to pass.",
    "leak: running": "It leaks oil: the seal is gone.",
    "oil_level: low": "It arrived low on oil.",
    "oil_level: empty": "It arrived empty.",
    "hand_stroke: dead travel": "Stroked by hand it moves without force at a turn, after priming: oil is missing, air is in it, or something has play.",
    "oil_look: milky": "The oil is milky: there is water in it.",
    "oil_look: metal in it": "There is metal in the oil: something inside is wearing.",
    "eyes: worn bush": "A bush is worn: its play shows in the loops as lost motion.",
    "tight_place_turned: moves with the rod": "The tight place goes round with the rod: the rod is bent.",
    "tight_place_turned: stays": "The tight place stays where it is when the rod is turned: the bore is scored or dented there.",
    "upper_bearing: rough": "The upper bearing is rough: renew it with the strut's mount; the strut itself need not be opened for that.",
    "upper_bearing: seized": "The upper bearing is seized, which twists the spring and pushes the rod sideways: renew it with the mount.",
    "rod_bush: side play": "The rod has side play in its bush: the seal cannot last, and under side load it binds.",
    "shaft: play": "The shaft has play in its bore: its seal cannot last. Bore the body for a bush or bearing and renew shaft and seal.",
    "discs: glazed": "The discs are glazed: they have lost their grip.",
    "discs: oil on dry discs": "There is oil or grease on discs that are to run dry.",
    "discs: cracked": "A disc is cracked or in pieces: it may jam.",
    "disc_pack: under the least allowed": "The pack of discs is worn under the least allowed: the arms may nip together and jam.",
    "at_full_lock: meets its stop": "It meets its own stop at full lock: a steering damper must never be what stops the steering. Fit one with more travel, or mount it right.",
    "oil_added_ml": "Oil was added before the test: what was missing has gone somewhere.",
    "soak_lost_g": "It lost oil while it stood: the seal passes.",
}

# key of a ground -> its words
GROUNDS: dict[str, str] = {
    "direction_open": "Which way is extension is not known, so rebound and compression may be swapped.",
    "dead": "{direction} makes next to no force at the fastest stage.",
    "absurd_share": "Rebound makes {share} of the force of both directions: no damper is built so.",
    "no_fault": "No fault found on the bench.",
    "nothing_to_compare": "There is nothing to compare with, so it cannot be passed.",
    "reference_in": "All {count} forces are within the window of its reference.",
    "alike_in": "Both directions are alike at all {count} speeds tested. How firm it should be was not compared: no known-good forces were declared.",
    "reference_out": "{direction} at {velocity} {reads}, {side} its window of {window}.",
    "reference_open": "{direction} at {velocity} could not be established against its reference.",
    "ratio_in": "It suits this car: damping ratio {ratio} at {rated}, wanted {wanted}.",
    "ratio_out": "Too {soft} for this car: damping ratio {ratio} at {rated}, wanted {wanted}.",
    "ratio_open": "Whether it suits this car could not be established: {why}.",
    "need_out": "{direction} at {velocity} reads {measured}, {side} the {window} that this car needs.",
    "gas_about": "The gas pressure is about {bar} over the air, in the middle of the stroke: compare it with the data sheet.",
    "asked_out": "{about} is {value}, allowed at most {limit}; no fault was named for it.",
    "asked_open": "{about} is {value}, too close to the {limit} allowed to be sure.",
    "cannot_be_made": "No part or setting that can be made brings it there.",
    "not_compared": "{direction} {about}: tested, but nothing usable was declared to hold it against.",
    "not_tested": "{direction} {about}: not tested.",
    "not_looked_for": "Not looked for: {name}. It needs {needs}.",
    "hand_check": "Not looked for: {name}. It needs a log of whole strokes, or the stroke by hand on the inspection sheet (upright, primed, no dead travel at either turn: hand_stroke).",
    "felt": "Stroked by hand, upright and primed, it has no dead travel at either turn.",
    "parts_missing": "It wants a rebuild, but the parts for one are not to be had.",
}

# part of a valve -> what it is when good; "besides": at no fault, but not as in the good valve
RESTORE: dict[str, str] = {
    "leak": "The good {direction} valve has next to no leak: renew what passes, and change no bleed or spring.",
    "leak besides": "The good {direction} valve leaks less: while it is open look at seat, ring and bore.",
    "bleed": "Good {direction} bleed: {good}, like one hole of {hole}; now {now}. Clean or renew it to that; drill nothing.",
    "bleed, sizes unknown": "Good {direction} bleed: {times} times what it is now. Clean or renew it to that; drill nothing.",
    "bleed besides": "While it is open: good {direction} bleed {good}, like one hole of {hole}; now {now}. See why, and clean or renew it to that; drill nothing.",
    "bleed besides, sizes unknown": "While it is open: good {direction} bleed {times} times what it is now. See why, and clean or renew it to that; drill nothing.",
    "blow-off": "Good {direction} blow-off: opens at {good} at the rod, now {now}: set or renew it to that.",
    "blow-off besides": "While it is open: good {direction} blow-off opens at {good} at the rod, now {now}: set it to that.",
}

STEPS: dict[str, str] = {
    "fit": "Fit it. Keep this page with it.",
    "renew_then_fit": "Renew what is named beside it, look at what was not looked at, then fit it. Keep this page with it.",
    "look_then_fit": "Look at what was not looked at, then fit it. Keep this page with it.",
    "out_of_use": "Take it out of use and fit another unit. Where the maker allows a new or rechromed rod, or a sleeve in the bore, say so in the inspection sheet (rod_renewable, bore_sleevable): then it is a rebuild.",
    "renew:rod": "Open it. Fit a new rod or one rechromed and ground to the maker's size, never a straightened one; renew guide and seals, fill with the right oil, prime, test again.",
    "renew:bore": "Open it. Sleeve the bore and finish it to the maker's size; fit rings to suit, renew the seals, fill with the right oil, prime, test again.",
    "renew:rod+bore": "Open it. Renew or rechrome the rod, never a straightened one, and sleeve the bore, both to the maker's size; renew guide, rings and seals, fill with the right oil, prime, test again.",
    "data": "Put right what the notes on the data say, and run the test again.",
    "declare_bench": "State what the notes on the data ask for in bench.toml, and run this again; the log need not be measured again.",
    "level_or_bubbles": "Oil level or bubbles: rest it upright for ten minutes, prime, and test again, with the middle of the stroke once 25 mm further in and once further out. If the lost motion stays, fill to the maker's level and look for the leak; if it goes and comes back with work, renew the oil.",
    "renew_bush": "Renew the worn bush and test again before opening the unit.",
    "open_it": "Open it, put right what was seen, renew the seals, fill with the right oil, prime, test again.",
    "open_discs": "Take it apart without blowing, brushing or grinding (old linings may hold asbestos), clean or renew the discs as the maker runs them, dry or greased, renew what is worn, run it in, set the clamp, test again.",
    "set_clamp": "Set the clamp of the discs and test again; it has one setting, the same both ways.",
    "renew_discs": "Take it apart without blowing, brushing or grinding (old linings may hold asbestos) and renew the discs: no clamping load that they bear brings it to its reference.",
    "which_way_is_out": "Pull the rod out by hand, see which way the readings go, state it in bench.toml ([signs]), and run this again.",
    "dead_side": "Check cell, clevises and signs, push and pull the unit by hand, and test again. Do not fit it before.",
    "not_met": "Find out what makes it so before anything is set: check the bench and the fixture, then test again.",
    "renew_parts": "Open it and renew the valve's parts to the maker's specification: no setting of what is in it reaches its reference.",
    "other_car": "This unit cannot be made to suit this car. Fit one that was made for it; this one is sound and may serve the car it was made for.",
    "change": "Change {parts} as listed under What to change, then test again.",
    "hole_last": "The hole comes last, since it cannot be undone: measure again before it is drilled.",
    "or_another": "Or fit a unit made for this car.",
    "look_then_set": "Open the valve that is outside before anything is set: with so few speeds of its reference this test could not show a blocked bleed, a leaking seat or a weak spring. Put right what is wrong there; if nothing is, set it to its specification. Test again.",
    "set_to_need": "Set it to what the car needs at these speeds and test again, or fit a unit made for this car.",
    "give_reference_or_car": "Give a reference for the unit or the data of the car, and run this again; the log need not be measured again.",
    "cover": "Test again so that what is missing above is covered and the doubt is smaller.",
    "declare_more": "Give what is missing above and run this again; the log need not be measured again.",
    "fit_another": "Fit another unit.",
}

UNKNOWN_REMEDY = ("the log shows a fault", "Open the unit and look for the cause named above.")

# code -> why, and the next step. Common practice of damper rebuilding, no source.
REMEDIES: dict[str, tuple[str, str]] = {
    "bent_rod": (
        "one slow pass shows a tight place, not what makes it; a bent rod wears the guide and the bore and may break",
        "Do not fit it. Turn the rod 90 and 180 degrees and repeat the slow pass: a tight place that goes round with the rod is a bent rod, one that stays is the bore. Put the answer into the inspection sheet (tight_place_turned), and whether the rod can be renewed or rechromed (rod_renewable) or the bore sleeved (bore_sleevable).",
    ),
    "low_oil": (
        "oil that is missing has gone somewhere: topping up alone only puts it off",
        "Find the leak, renew the seals, fill with the right oil, prime upright with a dozen full strokes, test again.",
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
        "Check first that the bench does not push the rod sideways, or by no more than the side load declared. Then open it: guide, seal, rod finish; of a lever, its shaft in the bore.",
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
