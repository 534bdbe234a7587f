"""inspection.toml: what eyes and hands found on the unit, because no bench sees a pitted rod.

Every answer may be left out; it then counts as not established and is listed as such.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from dampkit.bench.declared import Declared, NotNegative
from dampkit.outcome.result import InspectionRecord

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
    oil_look: Literal["clear", "dark", "milky", "metal in it"] | None = None
    parts_available: bool | None = None
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
}


@dataclass(frozen=True)
class Seen:
    """What the sheet means. `structure` rules out rebuilding the part as it is; `work` asks for a rebuild."""

    structure: tuple[str, ...] = ()
    work: tuple[str, ...] = ()
    bench: tuple[str, ...] = ()  # what has to be put right before the bench is believed
    parts_missing: bool = False
    missing: tuple[str, ...] = ()


STRUCTURE: dict[tuple[str, object], str] = {
    ("rod_straight", False): "The rod is bent: it cannot be straightened safely, and it wears guide and bore.",
    ("rod_pitting", "in seal travel"): "The rod is pitted where the seal runs: no seal will last on it.",
    ("bore", "scored beyond honing"): "The bore is scored beyond honing: no piston ring will seal in it.",
    ("body", "dented at the bore"): "The body is dented at the bore: the piston may stick there.",
    ("body", "cracked"): "The body is cracked: it may burst under pressure.",
    ("eyes", "cracked"): "An eye is cracked: it may let go on the road.",
}
WORK: dict[tuple[str, object], str] = {
    ("bore", "scored, hones out"): "The bore is scored but hones out.",
    ("leak", "damp"): "It is damp with oil: the seal has begun to pass.",
    ("leak", "running"): "It leaks oil: the seal is gone.",
    ("oil_level", "low"): "It arrived low on oil.",
    ("oil_level", "empty"): "It arrived empty.",
    ("oil_look", "milky"): "The oil is milky: there is water in it.",
    ("oil_look", "metal in it"): "There is metal in the oil: something inside is wearing.",
}
BENCH: dict[tuple[str, object], str] = {
    ("eyes", "worn bush"): "A bush is worn: its play shows in the loops as lost motion."
}


def read_sheet(spec: InspectionSpec | None) -> Seen | None:
    """What the sheet says, sorted by what follows from it; None without a sheet. Common practice, no source."""
    if spec is None:
        return None
    sheet = spec.inspection
    answers = {name: getattr(sheet, name) for name in QUESTIONS}
    if answers["rod_straight"] is None and sheet.rod_runout_mm is not None:
        answers["rod_straight"] = sheet.rod_runout_mm <= BENT_MM
    given = list(answers.items())
    work = [WORK[a] for a in given if a in WORK]
    if sheet.oil_added_ml:
        work.append(
            f"{sheet.oil_added_ml:g} ml of oil were added before the test: what was missing has gone somewhere."
        )
    return Seen(
        structure=tuple(STRUCTURE[a] for a in given if a in STRUCTURE),
        work=tuple(work),
        bench=tuple(BENCH[a] for a in given if a in BENCH),
        parts_missing=sheet.parts_available is False,
        missing=tuple(QUESTIONS[name] for name, answer in given if answer is None),
    )


def sheet_record(spec: InspectionSpec | None, seen: Seen | None) -> InspectionRecord | None:
    """For the result; None without a sheet."""
    if spec is None or seen is None:
        return None
    given = spec.inspection.model_dump(exclude_none=True, exclude={"notes"})
    words = {True: "yes", False: "no"}
    answers = {
        name: words.get(value, str(value)) if isinstance(value, bool) else str(value) for name, value in given.items()
    }
    return InspectionRecord(
        answers=answers,
        against=(*seen.structure, *seen.work, *seen.bench),
        not_established=seen.missing,
        notes=spec.inspection.notes,
    )
