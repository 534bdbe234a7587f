"""The loop where a fault shows, with the travel that its evidence names marked on it."""

from __future__ import annotations

from dataclasses import replace

from dampkit.outcome.decision_record import EvidenceRecord, FaultRecord, SpanRecord
from dampkit.outcome.measured_record import StageRecord
from dampkit.outcome.result import Result
from dampkit.report.numbers import Writer
from dampkit.report.picture import Picture, Span
from dampkit.report.pictures import SI, stage_picture
from dampkit.report.sentences import rounded

OFF_ZERO = 0.07  # of the height of the loop: how far from zero a mark stands


def fault_picture(result: Result, fault: FaultRecord, picture_id: str, writer: Writer = SI) -> Picture | None:
    """The loop of the stage that the fault names; None where it names none."""
    stage = next((s for s in result.run.stages if s.index == fault.stage_index), None)
    if stage is None:
        return None
    marked = _longest(fault, stage)
    picture = stage_picture(stage, picture_id, writer)
    said = [f"Marked after the reversal into {s.after}: {_length(s, stage, writer)}, {e.measure}." for s, e in marked]
    return replace(
        picture,
        title=f"Where it shows: the loop at {writer.drawn(stage.peak_velocity_m_s, 'm/s')}",
        alt=" ".join([picture.alt, *said]),
        spans=tuple(_mark(span, stage, writer) for span, _ in marked),
    )


def mark_words(picture: Picture) -> str:
    """What the marks in the picture are, for the line under it; empty without marks."""
    if not picture.spans:
        return ""
    return "Marked: travel after the turn in which the force has not come up yet. A sound unit takes hold at once."


def _longest(fault: FaultRecord, stage: StageRecord) -> list[tuple[SpanRecord, EvidenceRecord]]:
    """One mark for each reversal, the longest that the evidence of this stage names."""
    here = [(s, e) for e in fault.evidence if e.stage_index in (None, stage.index) for s in e.spans if s.length_m > 0]
    longest: dict[str, tuple[SpanRecord, EvidenceRecord]] = {}
    for span, item in sorted(here, key=lambda pair: pair[0].length_m):
        longest[span.after] = span, item
    return list(longest.values())


def _mark(span: SpanRecord, stage: StageRecord, writer: Writer) -> Span:
    """Compression begins at the extended end, rebound at the other one."""
    x, force = stage.loop.displacement_mm, stage.loop.force_n
    length = min(1e3 * span.length_m, max(x) - min(x))
    up, text = OFF_ZERO * (max(force) - min(force)), _length(span, stage, writer)
    if span.after == "compression":
        return Span(text, max(x), max(x) - length, up)
    return Span(text, min(x), min(x) + length, -up)


def _length(span: SpanRecord, stage: StageRecord, writer: Writer) -> str:
    """Rounded as in the sentence of the fault; no longer than the stroke."""
    return writer.drawn(rounded(1e3 * min(span.length_m, stage.stroke_m)), "mm")
