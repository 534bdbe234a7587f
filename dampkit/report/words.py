"""The fixed words of the page: verdicts, cautions, the method and the glossary."""

from __future__ import annotations

from typing import NamedTuple

from dampkit.outcome.decision_record import Action


class Saying(NamedTuple):
    word: str
    sentence: str


VERDICTS: dict[Action, Saying] = {
    "fit": Saying("Fit", "On the bench the unit did what the comparison below asks of it. It may be fitted."),
    "adjust": Saying(
        "Adjust", "The unit works, but its force is off. Put that right as it says below, then test again."
    ),
    "rebuild": Saying("Rebuild", "Do not fit it as it is. The unit needs to be opened and put right."),
    "replace": Saying("Replace", "Do not fit it. The damage is of a kind that a rebuild does not mend."),
    "retest": Saying(
        "Retest", "No verdict yet: this test cannot decide it. Do not fit the unit on the strength of it."
    ),
    "undecided": Saying(
        "Undecided",
        "No verdict yet. The test is good, but something has to be told first (see what is asked below). "
        "Do not fit the unit before.",
    ),
}

VERDICTS_SHOWN: tuple[Action, ...] = ("undecided", "retest", "replace", "rebuild", "adjust", "fit")  # a hand first

ANSWERS: dict[str, str] = {"in": "inside", "out": "outside", "not established": "too close to call or not measured"}

NO_LAW = "as measured"

COVERED: dict[str, str] = {
    "in": "inside what was asked",
    "out": "outside what was asked",
    "not established": "too close to call",
    "not compared": "tested, nothing to hold it against",
    "not tested": "not run at these speeds",
}

AGAINST: dict[str, str] = {
    "reference": "known-good unit",
    "other direction": "other direction",
    "vehicle": "need of the car",
}

MATTERS: dict[str, str] = {"in": "does not matter", "out": "matters", "not established": "too close to call"}

DIFFER: dict[str, str] = {
    "out": "differ by more than is allowed",
    "in": "do not differ by more than is allowed",
    "not established": "are too close to call",
}

SEVERITIES: dict[str, str] = {
    "bad": "Bad: no verdict can rest on this",
    "warning": "Warning: read the result with care",
    "note": "Note",
}

REGIMES: dict[str, str] = {
    "leak": "leak past the clearances",
    "bleed": "bleed",
    "blow-off": "blow-off opening",
    "fully-open": "blow-off fully open",
}

CAUTIONS: tuple[tuple[str, str], ...] = (
    (
        "Who has the last word",
        "The maker's data, local codes and licensed practice come first. Nothing on this page replaces them.",
    ),
    (
        "What this page is not",
        "It is a statement about one unit, on one bench, on the day of the test. It is never a roadworthiness certificate.",
    ),
    (
        "Gas-charged units",
        "They stay under pressure off the car. Find out which type it is and let the gas out by the maker's procedure, with "
        "eye protection, before opening or scrapping the unit. Never heat, cut or weld a charged unit. Nitrogen drives out "
        "the air in a pit or a closed room.",
    ),
    (
        "Stored spring energy",
        "Coils, leaf packs and torsion bars hold energy that can kill. The damper may be what holds them: support axle and "
        "body, use a compressor rated for the spring, and keep the weight of the hub off the brake hose.",
    ),
    (
        "Bench: crushing and ejection",
        "Guards closed; hands, hair and sleeves away from the clevises. Turn one slow cycle by hand first and see that the "
        "whole stroke lies inside the unit's travel: a unit driven against its stop can be thrown out, a lever arm can whip.",
    ),
    (
        "Hot oil and fluid injection",
        "Never feel for a leak with the hand. Oil from a pinhole goes through skin: go to hospital at once, however small "
        "the wound looks. Bodies and oil get hot enough to burn; let the unit cool before handling it.",
    ),
    (
        "Asbestos in old linings and packings",
        "Old friction discs and gland packings may hold asbestos. If it is not known, take it as present: no blowing, dry "
        "brushing, sanding or grinding; wipe wet, bag it, and dispose of it as asbestos waste under local law.",
    ),
    (
        "Oil and solvents",
        "Wear gloves. Keep old oil apart and hand it to licensed disposal, never to soil or drain. Flushing with solvent "
        "needs ventilation and no flame.",
    ),
    (
        "Suspension is safety-critical",
        "Tighten to the maker's data with new locking parts, have a second person check the work, and test again after every "
        "repair. Do not release a unit with open questions. Not established never means passed.",
    ),
)

METHOD: tuple[str, ...] = (
    "The log is read, its channels turned into SI units, and its signs set so that extension and tension are positive. "
    "Every change made to the data is listed above.",
    "Stretches of steady stroke and frequency become stages. Their cycles are laid over each other, so that each stage "
    "gives one loop of force against displacement and a spread from cycle to cycle.",
    "Speed comes from the measured displacement, not from the drive. The energy of a cycle is the area inside its loop.",
    "Gas force and friction are taken out to leave the force that the oil makes. A valve with a leak, a bleed that is "
    "always open and a blow-off that lifts under pressure is fitted to it, for each direction. A part that the test did "
    "not reach is reported as not established; it is not guessed.",
    "Intervals are meant to hold the true value 95 times in 100. They come from the scatter of the measurement, from cycle "
    "to cycle and between fitted curve and measured points; comparisons add the uncertainty that was declared for the bench.",
    "Each fault is held against measured values with a limit and the basis of that limit. It is called found or suspected; "
    "a fault that is not listed was not seen in this test, which does not prove it absent.",
    "With a vehicle, the damping ratio compares the energy that the unit takes out in a cycle with critical damping of the "
    "corner at the wheel. With a reference, each force is in, out, or not established when its interval straddles the limit.",
)

TWO_RATIOS = (
    "One mass: damping over critical of the body alone on its spring; the target is meant so. Two masses: of the two swings "
    "that body and wheel really make on spring and tyre with the same damping; the body's comes out lower, as the wheel "
    "gives way under it, and the wheel's is what keeps it on the road. Both fall or rise with speed: each row holds at its "
    "own speed and stroke, nowhere else."
)
GLOSSARY: tuple[tuple[str, str], ...] = (
    ("Bleed", "The passage that is always open; it sets the force at low speed."),
    ("Blow-off", "The spring-loaded valve that opens when the force gets high and keeps it from rising further."),
    ("Compression", "The damper gets shorter; also called bump."),
    ("Critical damping", "The damping with which a pushed-down car would just come back without swinging past."),
    ("Damping ratio", "Damping as a share of critical damping. It changes with speed, so the speed is always stated."),
    ("Friction", "The force that is there at any speed, from seals, guides and joints."),
    ("Gas force", "The push of the gas charge that extends the rod at rest."),
    ("Leak", "Oil that goes through clearances instead of the valves; it grows as the oil thins."),
    ("Loop", "Force drawn against displacement over one whole cycle; also called work diagram."),
    ("Lost motion", "Travel after a reversal in which the damper makes no damping force."),
    ("Motion ratio", "Damper travel divided by wheel travel."),
    ("Not established", "This test cannot tell. It is neither a pass nor a fail."),
    ("Rebound", "The damper gets longer."),
    ("Stage", "A part of the test at one stroke and one frequency."),
    ("95 % interval", "The range that should hold the true value 95 times in 100; written in brackets after a value."),
)
