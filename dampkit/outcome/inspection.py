"""inspection.toml: what eyes and hands found on the unit, because no bench sees a pitted rod.

Every answer may be left out; it then counts as not established and is listed as such.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from dampkit.bench.declared import Declared, NotNegative
from dampkit.damper.declared import DamperSpec, Kind
from dampkit.outcome.result import InspectionRecord

Cure = Literal["rod", "bore"]
Place = Literal["none", "outside seal travel", "in seal travel"]
BENT_MM = 0.1  # run-out of a rod over its length from which it counts as bent; common practice, no source
WET = ("damp", "running")


class Inspection(Declared):
    rod_straight: bool | None = None
    rod_runout_mm: NotNegative | None = None
    rod_pitting: Place | None = None
    bore: Literal["sound", "scored, hones out", "scored beyond honing"] | None = None
    body: Literal["sound", "dented clear of the bore", "dented at the bore", "cracked"] | None = None
    eyes: Literal["sound", "worn bush", "cracked"] | None = None
    leak: Literal["dry", "damp", "running"] | None = None
    oil_level: Literal["full", "low", "empty"] | None = None  # as it arrived
    oil_added_ml: NotNegative | None = None
    oil_found_ml: NotNegative | None = None  # drained and measured
    oil_look: Literal["clear", "dark", "milky", "metal in it"] | None = None
    parts_available: bool | None = None
    # the slow pass run again with the rod turned 90 and 180 degrees: does the tight place go round with it?
    tight_place_turned: Literal["moves with the rod", "stays"] | None = None
    rod_renewable: bool | None = None  # a new rod can be had, or this one rechromed
    bore_sleevable: bool | None = None
    # of a strut: its upper bearing turned by hand, its rod pushed sideways fully out
    upper_bearing: Literal["turns freely", "rough", "seized"] | None = None
    rod_bush: Literal["no side play", "side play"] | None = None
    shaft: Literal["no play", "play"] | None = None  # of a lever: moved across its bore by hand
    # of a friction damper: its discs apart; the pack's thickness and the least that the maker allows
    discs: Literal["sound", "glazed", "oil on dry discs", "cracked"] | None = None
    disc_pack_mm: NotNegative | None = None
    disc_pack_least_mm: NotNegative | None = None
    at_full_lock: Literal["travel left", "meets its stop"] | None = None  # of a steering damper, both sides
    # through both turns by hand, upright, after priming; stands in for lost motion where the test cannot show it
    hand_stroke: Literal["no dead travel", "dead travel"] | None = None
    notes: str | None = None


class InspectionSpec(Declared):
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
# What a stroke by hand without dead travel at either turn rules out; common practice of damper rebuilding, no source
FELT_BY_HAND = ("low_oil", "aerated_oil", "trapped_air", "loose_mount")


@dataclass(frozen=True)
class Seen:
    """What the sheet means. `structure` rules out rebuilding the part as it is; `work` asks for a rebuild."""

    structure: tuple[str, ...] = ()
    work: tuple[str, ...] = ()
    bench: tuple[str, ...] = ()  # what has to be put right before the bench is believed
    parts_missing: bool = False
    cures: tuple[Cure, ...] = ()  # parts beyond use that can be renewed: a rebuild has to hold that work
    oil_found_ml: float | None = None
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
BESIDE = frozenset(("upper_bearing: rough", "upper_bearing: seized"))
OIL_ADDED = "oil_added_ml"


def asked_of(damper: DamperSpec | None) -> tuple[str, ...]:
    """The questions of a unit's sheet; without a kind those of a telescopic."""
    if damper is None or damper.damper.kind is None:
        return TELESCOPIC
    return (*SHEETS[damper.damper.kind], *(OF_STRUT if damper.damper.duty == "strut" else ()))


def read_sheet(spec: InspectionSpec | None, damper: DamperSpec | None = None) -> Seen | None:
    """What the sheet says, sorted by what follows from it; None without a sheet. Common practice, no source.

    What is answered counts of any kind; what is lacking is of those questions that the kind is asked.
    """
    if spec is None:
        return None
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
        work=(*cured, *(a for a in given if a in WORK), *((OIL_ADDED,) if sheet.oil_added_ml else ())),
        cures=tuple(dict.fromkeys(CURED[a] for a in cured)),
        oil_found_ml=sheet.oil_found_ml,
        rod_turned=sheet.tight_place_turned is not None,
        bench=tuple(a for a in given if a in BENCH),
        beside=tuple(a for a in given if a in BESIDE),
        parts_missing=sheet.parts_available is False,
        ruled_out=FELT_BY_HAND if sheet.hand_stroke == "no dead travel" else (),
        missing=tuple(QUESTIONS[name] for name in asked_of(damper) if answers[name] is None),
    )


def _pack(sheet: Inspection) -> str | None:
    """Of the discs' pack; None without both figures."""
    now, least = sheet.disc_pack_mm, sheet.disc_pack_least_mm
    if now is None or least is None:
        return None
    return "under the least allowed" if now < least else "thick enough"


def as_word(answer: object) -> str:
    """An answer as it is stored: yes, no, or as it was written."""
    return {True: "yes", False: "no"}[answer] if isinstance(answer, bool) else str(answer)


def sheet_record(spec: InspectionSpec | None, seen: Seen | None) -> InspectionRecord | None:
    """For the result; None without a sheet."""
    if spec is None or seen is None:
        return None
    given = spec.inspection.model_dump(exclude_none=True, exclude={"notes"})
    answers = {name: as_word(value) for name, value in given.items()}
    return InspectionRecord(
        answers=answers,
        against=(*seen.structure, *seen.work, *seen.bench, *seen.beside),
        not_established=seen.missing,
        notes=spec.inspection.notes,
    )
