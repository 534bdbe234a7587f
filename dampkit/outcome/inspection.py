"""inspection.toml: what eyes and hands found on the unit, because no bench sees a pitted rod.

Every answer may be left out; it then counts as not established and is listed as such.
"""

from typing import Annotated, Literal

from dampkit.bench.declared import Declared, NotNegative
from dampkit.bench.described import described
from dampkit.damper.declared import DamperSpec
from dampkit.damper.kinds import CARRY_SIDE_LOAD, DISCS, HYDRAULIC, LEVERS, STEERING, WITH_ROD, Kind
from dampkit.frozen import frozen
from dampkit.outcome.decision_record import InspectionRecord
from dampkit.outcome.ground import FELT_BY_HAND

Cure = Literal["rod", "bore"]
Place = Literal["none", "outside seal travel", "in seal travel"]
BENT_MM = 0.1  # run-out of a rod over its length from which it counts as bent; common practice, no source


class Inspection(Declared):
    """What eyes and hands found; what is left out counts as not established."""

    rod_straight: Annotated[bool | None, described(
        "Whether the rod is straight.", True, "Turn it between centres or on two vee blocks, a dial gauge at its middle.", kinds=WITH_ROD)] = None  # fmt: skip
    rod_runout_mm: Annotated[NotNegative | None, described(
        "Or how far the gauge moved in one turn.", 0.03, "Turn it on two vee blocks, a dial gauge at its middle.", kinds=WITH_ROD, usual=(0, 3))] = None  # fmt: skip
    rod_pitting: Annotated[Place | None, described(
        "Pits in the rod's chrome, and where.", "none", "Draw a fingernail along it: whatever catches within the seal's travel counts.", kinds=WITH_ROD)] = None  # fmt: skip
    bore: Annotated[Literal["sound", "scored, hones out", "scored beyond honing"] | None, described(
        "State of the bore.", "sound", "Look through the washed tube against the light, and feel for scores.", kinds=HYDRAULIC)] = None  # fmt: skip
    body: Annotated[Literal["sound", "dented clear of the bore", "dented at the bore", "cracked"] | None, described(
        "State of the body.", "sound", "Look all round, and draw a straight edge along it.")] = None  # fmt: skip
    eyes: Annotated[Literal["sound", "worn bush", "cracked"] | None, described(
        "State of eyes and bushes.", "sound", "Lever each pin sideways by hand, and look round the weld.")] = None  # fmt: skip
    leak: Annotated[Literal["dry", "damp", "running"] | None, described(
        "Oil outside.", "dry", "Wipe it dry, work it ten strokes, and look at the seal.", kinds=HYDRAULIC)] = None  # fmt: skip
    oil_level: Annotated[Literal["full", "low", "empty"] | None, described(
        "Oil level as it arrived.", "full", "Open the filler, or see what drains out.", kinds=HYDRAULIC)] = None  # fmt: skip
    oil_added_ml: Annotated[NotNegative | None, described(
        "Oil that was topped up before the test.", 0.0, "Read it off the measuring cylinder.", kinds=HYDRAULIC, usual=(0, 2000))] = None  # fmt: skip
    oil_found_ml: Annotated[NotNegative | None, described(
        "Oil that was in it.", 210.0, "Drain it into a measuring cylinder overnight.", kinds=HYDRAULIC, usual=(0, 5000))] = None  # fmt: skip
    air_space_mm: Annotated[NotNegative | None, described(
        "Air over the oil as it arrived, measured as in [oil] air_space_mm.", 82.0,
        "Lower a rule in until it meets the oil, rod fully out, upright for ten minutes.", kinds=("twin-tube", "lever-arm"), usual=(0, 500))] = None  # fmt: skip
    weight_in_g: Annotated[NotNegative | None, described(
        "Weight of the unit as it arrived, wiped dry.", 1840.0, "Weigh it to a gram, without bushes that come off.", kinds=HYDRAULIC, usual=(100, 30000))] = None  # fmt: skip
    weight_out_g: Annotated[NotNegative | None, described(
        "Weight as it leaves, with the same parts on it.", 1872.0, "Weigh it again on the same scales.", kinds=HYDRAULIC, usual=(100, 30000))] = None  # fmt: skip
    soak_hours: Annotated[NotNegative | None, described(
        "Hours that it stood on clean paper after filling, rod out.", 24.0, "Stand it as it stands in the car, overnight at least.",
        unit="h", kinds=HYDRAULIC, usual=(0, 240))] = None  # fmt: skip
    soak_lost_g: Annotated[NotNegative | None, described(
        "Weight that it lost in that time.", 0.0, "Weigh it before and after.", kinds=HYDRAULIC, usual=(0, 500))] = None  # fmt: skip
    oil_look: Annotated[Literal["clear", "dark", "milky", "metal in it"] | None, described(
        "Look of the oil.", "clear", "Let it stand in a glass; draw a magnet through it.", kinds=HYDRAULIC)] = None  # fmt: skip
    parts_available: Annotated[bool | None, described(
        "Whether seals and parts can be had.", True, "Ask the store or the supplier.")] = None  # fmt: skip
    tight_place_turned: Annotated[Literal["moves with the rod", "stays"] | None, described(
        "Whether a tight place goes round with the rod.", "stays", "Run the slow pass again with the rod turned by 90 and 180 degrees.", kinds=WITH_ROD)] = None  # fmt: skip
    rod_renewable: Annotated[bool | None, described(
        "Whether a new rod can be had, or this one rechromed.", True, "Ask the supplier.", kinds=WITH_ROD)] = None  # fmt: skip
    bore_sleevable: Annotated[bool | None, described(
        "Whether the bore can be sleeved.", False, "Ask the machine shop; the wall has to be thick enough.", kinds=HYDRAULIC)] = None  # fmt: skip
    upper_bearing: Annotated[Literal["turns freely", "rough", "seized"] | None, described(
        "The upper bearing of a strut.", "turns freely", "Take the weight off it and turn it by hand.", kinds=CARRY_SIDE_LOAD)] = None  # fmt: skip
    rod_bush: Annotated[Literal["no side play", "side play"] | None, described(
        "Side play of a strut's rod in its bush.", "no side play", "Draw the rod fully out and push it sideways by hand.", kinds=CARRY_SIDE_LOAD)] = None  # fmt: skip
    shaft: Annotated[Literal["no play", "play"] | None, described(
        "Play of a lever's shaft in its bore.", "no play", "Hold the body and move the arm across the shaft by hand.", kinds=LEVERS)] = None  # fmt: skip
    discs: Annotated[Literal["sound", "glazed", "oil on dry discs", "cracked"] | None, described(
        "State of the friction discs; oil counts only where they are to run dry.", "sound",
        "Take the pack apart wet, without blowing, brushing or grinding (old linings may hold asbestos), and look at both faces.", kinds=DISCS)] = None  # fmt: skip
    disc_pack_mm: Annotated[NotNegative | None, described(
        "Thickness of the pack of discs.", 21.0, "Measure it with a caliper, the clamp set.", kinds=DISCS, usual=(3, 120))] = None  # fmt: skip
    disc_pack_least_mm: Annotated[NotNegative | None, described(
        "The least thickness at which the arms do not nip each other.", 18.0, "Take it from the maker's data, or add up the arms' depth in the pack.", kinds=DISCS, usual=(3, 120))] = None  # fmt: skip
    at_full_lock: Annotated[Literal["travel left", "meets its stop"] | None, described(
        "Whether a steering damper has travel left at full lock, both sides.", "travel left",
        "Turn the steering from lock to lock by hand and look at the rod at each end.", kinds=STEERING)] = None  # fmt: skip
    hand_stroke: Annotated[Literal["no dead travel", "dead travel"] | None, described(
        "Travel without resistance at either turn; stands in for lost motion where the test cannot show it.", "no dead travel",
        "Upright, after priming, work it by hand through both turns.")] = None  # fmt: skip
    notes: Annotated[
        str | None, described("Whatever else was seen.", "made up: new lower bush", "In your own words.")
    ] = None


class InspectionSpec(Declared):
    """What eyes and hands found on the unit, because no bench sees a pitted rod."""

    inspection: Inspection = Inspection()


# What each question is called, in the order of the sheet
QUESTIONS: dict[str, str] = {
    "rod_straight": "rod straight",
    "rod_pitting": "pitting of the rod",
    "bore": "state of the bore",
    "body": "state of the body",
    "eyes": "state of the eyes",
    "leak": "leak",
    "oil_level": "oil level as arrived",
    "oil_look": "look of the oil",
    "parts_available": "parts available",
    "upper_bearing": "upper bearing",
    "rod_bush": "side play of the rod in its bush",
    "shaft": "play of the shaft in its bore",
    "discs": "state of the discs",
    "disc_pack": "thickness of the disc pack against the least allowed",
    "at_full_lock": "travel left at full lock",
}
TELESCOPIC = (
    "rod_straight", "rod_pitting", "bore", "body", "eyes", "leak", "oil_level", "oil_look", "parts_available"
)  # fmt: skip
OF_STRUT = ("upper_bearing", "rod_bush")
# What is asked of each kind, in the order of the sheet; common practice, no source
SHEETS: dict[Kind, tuple[str, ...]] = {
    "twin-tube": TELESCOPIC,
    "monotube": TELESCOPIC,
    "lever-arm": ("bore", "shaft", "body", "eyes", "leak", "oil_level", "oil_look", "parts_available"),
    "friction-disc": ("discs", "disc_pack", "eyes", "parts_available"),
    "steering-damper": ("rod_straight", "rod_pitting", "body", "eyes", "leak", "at_full_lock", "parts_available"),
}
HAND_STROKE = "hand_stroke"


@frozen
class Seen:
    """What the sheet means. `structure` rules out rebuilding the part as it is; `work` asks for a rebuild."""

    structure: tuple[str, ...] = ()
    work: tuple[str, ...] = ()
    bench: tuple[str, ...] = ()  # what has to be put right before the bench is believed
    parts_missing: bool = False
    cures: tuple[Cure, ...] = ()  # parts beyond use that can be renewed: a rebuild has to hold that work
    rod_turned: bool = False  # the question of a tight place was answered by turning the rod
    ruled_out: tuple[str, ...] = ()  # codes of faults
    beside: tuple[str, ...] = ()  # what is renewed beside the unit before it is fitted
    missing: tuple[str, ...] = ()


# Answers that count, as `question: answer`. Common practice, no source.
STRUCTURE = frozenset(
    ("rod_straight: no", "rod_pitting: in seal travel", "bore: scored beyond honing", "body: dented at the bore",
     "body: cracked", "eyes: cracked", "at_full_lock: meets its stop", "tight_place_turned: moves with the rod")
)  # fmt: skip
# Structure that a new part puts right, where the sheet says that it can be had
CURED: dict[str, Cure] = {
    "rod_straight: no": "rod",
    "rod_pitting: in seal travel": "rod",
    "tight_place_turned: moves with the rod": "rod",
    "bore: scored beyond honing": "bore",
}
WORK = frozenset(
    ("bore: scored, hones out", "leak: damp", "leak: running", "oil_level: low", "oil_level: empty", "oil_look: milky",
     "oil_look: metal in it", "rod_bush: side play", "shaft: play", "discs: glazed", "discs: oil on dry discs",
     "discs: cracked", "disc_pack: under the least allowed", "tight_place_turned: stays", "hand_stroke: dead travel")
)  # fmt: skip
BENCH = frozenset(("eyes: worn bush",))
OIL_ADDED, SOAK_LOST = "oil_added_ml", "soak_lost_g"
SOAK_G = 1.0  # lost as it stood, from which it counts as a leak: what scales of a gram show; own choice
BESIDE = frozenset(("upper_bearing: rough", "upper_bearing: seized"))


def asked_of(damper: DamperSpec | None) -> tuple[str, ...]:
    """The questions of a unit's sheet; without a kind those of a telescopic."""
    if damper is None or damper.damper.kind is None:
        return TELESCOPIC
    return (*SHEETS[damper.damper.kind], *(OF_STRUT if damper.damper.duty == "strut" else ()))


def read_sheet(spec: InspectionSpec, damper: DamperSpec | None = None) -> Seen:
    """What the sheet says, sorted by what follows from it. Common practice, no source.

    What is answered counts of any kind; what is lacking is of those questions that the kind is asked.
    """
    sheet = spec.inspection
    answers = {name: _pack(sheet) if name == "disc_pack" else getattr(sheet, name) for name in QUESTIONS}
    if answers["rod_straight"] is None and sheet.rod_runout_mm is not None:
        answers["rod_straight"] = sheet.rod_runout_mm <= BENT_MM
    asked = {**answers, HAND_STROKE: sheet.hand_stroke, "tight_place_turned": sheet.tight_place_turned}
    given = [f"{name}: {as_word(answer)}" for name, answer in asked.items()]
    open_to: dict[Cure, bool | None] = {"rod": sheet.rod_renewable, "bore": sheet.bore_sleevable}
    cured = tuple(a for a in given if a in CURED and open_to[CURED[a]])
    return Seen(
        structure=tuple(a for a in given if a in STRUCTURE and a not in cured),
        work=(*cured, *(a for a in given if a in WORK), *_of_oil(sheet)),
        cures=tuple(dict.fromkeys(CURED[a] for a in cured)),
        rod_turned=sheet.tight_place_turned is not None,
        bench=tuple(a for a in given if a in BENCH),
        beside=tuple(a for a in given if a in BESIDE),
        parts_missing=sheet.parts_available is False,
        ruled_out=FELT_BY_HAND if sheet.hand_stroke == "no dead travel" else (),
        missing=tuple(QUESTIONS[name] for name in asked_of(damper) if answers[name] is None),
    )


def _of_oil(sheet: Inspection) -> tuple[str, ...]:
    """Amounts of oil that count against the unit."""
    added = (OIL_ADDED,) if sheet.oil_added_ml else ()
    return (*added, *((SOAK_LOST,) if (sheet.soak_lost_g or 0.0) > SOAK_G else ()))


def _pack(sheet: Inspection) -> str | None:
    """Of the discs' pack; None without both figures."""
    now, least = sheet.disc_pack_mm, sheet.disc_pack_least_mm
    if now is None or least is None:
        return None
    return "under the least allowed" if now < least else "thick enough"


def as_word(answer: object) -> str:
    """An answer as it is stored: yes, no, or as it was written."""
    return {True: "yes", False: "no"}[answer] if isinstance(answer, bool) else str(answer)


def sheet_record(spec: InspectionSpec, seen: Seen) -> InspectionRecord:
    """For the result."""
    given = spec.inspection.model_dump(exclude_none=True, exclude={"notes"})
    answers = {name: as_word(value) for name, value in given.items()}
    return InspectionRecord(
        answers=answers,
        against=(*seen.structure, *seen.work, *seen.bench, *seen.beside),
        not_established=seen.missing,
        notes=spec.inspection.notes,
    )
