"""Made-up results for the sheets: every verdict, fault, step and ground that there is. Nothing in them was measured."""

from __future__ import annotations

import re
import struct
import zlib
from collections.abc import Iterator
from pathlib import Path
from typing import get_args

from dampkit.outcome.about import with_about
from dampkit.outcome.about_record import AboutRecord
from dampkit.outcome.decision_record import (
    Action,
    EvidenceRecord,
    FaultRecord,
    GroundRecord,
    InspectionRecord,
    NotLookedForRecord,
    RequirementRecord,
)
from dampkit.outcome.ground import REMEDIES
from dampkit.outcome.result import Result
from dampkit.outcome.workshop import Letterhead, mark_address
from dampkit.report import fault_words
from dampkit.report.sentences import worded
from tests.report.made_up import around, reference, sound, verdict

PACKAGE = Path(__file__).parents[2] / "dampkit"
ACTIONS: tuple[Action, ...] = get_args(Action)
SAID = AboutRecord(
    job="blue estate, rear",
    tested_on="2024-05-31",
    tested_at="14:05",
    by="made-up fitter",
    customer="customer 77",
    vehicle="blue estate",
    unit_type="12-34",
    bench="bench 1",
    checked_by="made-up foreman",
    checked_on="2024-06-01",
    check_stands=True,
)
NUMBERS = {
    "velocity_m_s": 0.1, "measured_n": 713.4, "low_n": 200.2, "high_n": 270.7, "value": 7.31, "limit": 3.0, "low": 0.26,
    "high": 0.38, "ratio": 0.41, "share": 0.97, "bar": 11.2, "count": 14.0, "read_n": 700.1, "read_c": 41.0, "to_c": 20.0,
}  # fmt: skip
OPEN_STEPS = ("remedy:low_oil", "look_into:trapped_air", "order:new", "order:exchange", "set_firmer:clamp")
MORE_STEPS = ("set_softer:both", "set_firmer:rebound", "set_softer:compression", "set_valve")


def png(width: int = 40, height: int = 20) -> bytes:
    """A dark picture, chunk by chunk as the published specification of PNG has it."""
    head = struct.pack(">IIBBBBB", width, height, 8, 0, 0, 0, 0)
    rows = zlib.compress(b"".join(b"\0" + b"\x40" * width for _ in range(height)))
    parts = ((b"IHDR", head), (b"IDAT", rows), (b"IEND", b""))
    chunks = (struct.pack(">I", len(d)) + k + d + struct.pack(">I", zlib.crc32(k + d)) for k, d in parts)
    return b"\x89PNG\r\n\x1a\n" + b"".join(chunks)


# as much as a workshop's file may hold: five lines of address and of contact, and a mark
WORKSHOP = Letterhead(
    "Made-up Damper Works", ("1 Invented Street", "Nowhere", "a", "b", "c"), ("phone 000 000", "d", "e", "f", "g"),
    mark_address(png(), "mark"),
)  # fmt: skip


def every() -> Iterator[tuple[str, Result]]:
    """A name and a result for every fault with every verdict, every step, every ground, every answer seen by eye."""
    for action in ACTIONS:
        for code in REMEDIES:
            yield f"{action} {code}", of_fault(action, code)
    for n, step in enumerate((*fault_words.STEPS, *OPEN_STEPS, *MORE_STEPS)):
        if step not in ("change", "hole_last", "or_another"):  # parts of a sentence, never a step by themselves
            yield f"step {step}", one(ACTIONS[n % len(ACTIONS)], step, GroundRecord(key="no_fault"))
    for key in ground_keys():
        yield f"ground {key}", of_ground(key)
    for answer in fault_words.SEEN:
        yield f"seen {answer}", one("replace", "out_of_use", GroundRecord(key="seen", about=answer))
    long = AboutRecord(
        **{
            key: "W" * 199
            for key in SAID.model_dump()
            if key not in ("check_stands", "check_imported", "tested_on", "tested_at")
        }
    )
    yield "long names", with_about(of_fault("rebuild", "loose_mount"), "W" * 199, long)
    yield "nothing looked for", nothing_looked_for()
    yield "as stored of old", sound().model_copy(update={"verdict": sound().verdict.model_copy(update={"grounds": ()})})


def ground_keys() -> tuple[str, ...]:
    """Every kind of ground that the rules of the verdict name, read from their source, and those that have words."""
    text = "".join(file.read_text() for file in (PACKAGE / "outcome").glob("*.py"))
    named = re.findall(r"\bGround\(\s*\"(\w+)\"", text) + re.findall(r"_found\(known, \"(\w+)\"\)", text)
    return tuple(dict.fromkeys([*named, *fault_words.GROUNDS]))


def one(action: Action, step: str, *grounds: GroundRecord, **more: object) -> Result:
    made = sound().model_copy(update={"verdict": verdict(action, step, *grounds), "damper": _damper(step), **more})
    return worded(with_about(made, None, SAID))


def of_fault(action: Action, code: str) -> Result:
    """The fault found with another suspected, every force out, every cause not looked for: as much as there can be."""
    other = next(each for each in REMEDIES if each != code)
    step = f"remedy:{code}" if action in ("rebuild", "retest") else f"look_into:{code}"
    outside = [
        GroundRecord(key="reference_out", direction=way, figures={**NUMBERS, "velocity_m_s": v})
        for way in ("rebound", "compression")
        for v in (0.05, 0.1, 0.3, 0.5)
    ]
    grounds = (GroundRecord(key="fault", about=code), GroundRecord(key="fault_clouded", about=other), *outside)
    faults = (_fault(code, "found"), _fault(other, "suspected"))
    return one(action, step, *grounds, faults=faults, reference=reference(0.8), not_looked_for=_lacking())


def of_ground(key: str) -> Result:
    """One ground with every figure that any has."""
    asked = RequirementRecord(
        key="lost_motion", name="lost motion entering rebound", answer="out", probability=0.01, measured=around(7.31),
        limit_low=0.0, limit_high=3.0, guard_band=0.2, unit="mm", basis="made up",
    )  # fmt: skip
    about = {"asked_out": asked.name, "asked_open": asked.name, "seen": "eyes: cracked"}.get(key, "low_oil")
    ground = GroundRecord(key=key, about=about, direction="rebound", figures=NUMBERS)
    return one("adjust", "set_valve", ground, requirements=(asked,), faults=(_fault("low_oil", "found"),))


def nothing_looked_for() -> Result:
    sheet = InspectionRecord(
        answers={"rod_straight": "yes"}, against=(), not_established=("state of the bore",), notes=None
    )
    grounds = [GroundRecord(key=key) for key in ("ratio_open", "not_compared", "not_tested", "reference_open")]
    return one("undecided", "cover", *grounds, not_looked_for=_lacking(), inspection=sheet)


def _damper(step: str) -> object:
    kind = "friction-disc" if "disc" in step or "clamp" in step else "monotube"
    return sound().damper.model_copy(update={"kind": kind})


def _fault(code: str, level: str) -> FaultRecord:
    measure = EvidenceRecord(key="friction", measure="", value=80.0, unit="N", limit=55.0, basis="published")
    return FaultRecord.model_validate(
        {"code": code, "level": level, "likelihood": 0.97, "sentence": "", "evidence": (measure,), "stage_index": 1,
         "direction": "rebound", "figures": NUMBERS}
    )  # fmt: skip


def _lacking() -> tuple[NotLookedForRecord, ...]:
    return tuple(NotLookedForRecord(code=code, lacks=("loops",), needs="") for code in REMEDIES)
