"""The loop where a fault shows, with the travel that is lost marked on it."""

from __future__ import annotations

import re
from dataclasses import replace

import numpy as np

from dampkit.outcome.result import EvidenceRecord, FaultRecord, Result, StageRecord
from dampkit.report.numbers import brief
from dampkit.report.picture import Picture, Span
from dampkit.report.pictures import stage_picture

ENTERING = re.compile(r"(?:late travel|lost motion) entering (rebound|compression)\b")
BOTH = re.compile(r"travel at zero force after both reversals")
WHOLE_FROM_MM = 4.0
OFF_ZERO = 0.07  # of the height of the loop: how far from zero a mark stands


def fault_picture(result: Result, fault: FaultRecord, picture_id: str) -> Picture | None:
    """The loop of the stage that the fault names; None where it names none."""
    stage = next((s for s in result.run.stages if s.index == fault.stage_index), None)
    if stage is None:
        return None
    spans, said = _spans(fault, stage)
    picture = stage_picture(stage, picture_id)
    return replace(
        picture,
        title=f"Where it shows: the loop at {brief(stage.peak_velocity_m_s)} m/s",
        alt=" ".join([picture.alt, *said]),
        spans=spans,
    )


def mark_words(picture: Picture) -> str:
    """What the marks in the picture are, for the line under it; empty without marks."""
    if not picture.spans:
        return ""
    return "Marked: travel after the turn in which the force has not come up yet. A sound unit takes hold at once."


def _spans(fault: FaultRecord, stage: StageRecord) -> tuple[tuple[Span, ...], list[str]]:
    x, force = np.array(stage.loop.displacement_mm), np.array(stage.loop.force_n)
    longest, shortest = float(x.max()), float(x.min())
    up = OFF_ZERO * float(force.max() - force.min())
    found = [(ENTERING.search(e.measure), e) for e in fault.evidence if e.unit == "mm" and e.value > 0]
    marked = [(match[1], e) for match, e in found if match]
    if marked:
        way, item = max(marked, key=lambda pair: pair[1].value)
        length = _length(item, longest - shortest)
        span = (
            Span(_millimetres(length), longest, longest - length, up)
            if way == "compression"
            else Span(_millimetres(length), shortest, shortest + length, -up)
        )
        return (span,), [f"{_millimetres(length)} are marked on it: {item.measure}."]
    slack = next((e for e in fault.evidence if e.unit == "mm" and BOTH.search(e.measure)), None)
    if slack is None:
        return (), []
    length = _length(slack, longest - shortest)
    text = _millimetres(length)
    both = (
        Span(text, longest, longest - length, up),
        Span(text, shortest, shortest + length, -up),
    )
    return both, [f"{text} at each end are marked on it: {slack.measure}."]


def _length(item: EvidenceRecord, stroke_mm: float) -> float:
    return float(min(item.value, stroke_mm))


def _millimetres(length: float) -> str:
    """As the sentence of the fault has it: whole millimetres where there are many."""
    return f"{length:.0f} mm" if length >= WHOLE_FROM_MM else f"{brief(length, 2)} mm"
