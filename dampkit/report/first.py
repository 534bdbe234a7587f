"""The first screen: three reasons, the one picture that shows them, and a word for the owner of the car."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace

from dampkit.outcome.decision_record import FaultRecord, RequirementRecord
from dampkit.outcome.ground import FIRST
from dampkit.outcome.result import Result
from dampkit.report import pictures, words
from dampkit.report.customer_sheet import answer_to
from dampkit.report.fault_loop import fault_picture
from dampkit.report.faults_told import TOLD
from dampkit.report.numbers import Writer
from dampkit.report.picture import Picture

REASONS = 3
SAID_BY_FAULT = "lost_motion"  # with play taken off; not a second time with another number


def reasons(result: Result, writer: Writer) -> tuple[list[str], list[str]]:
    """The first three reasons and those after them; where fewer were stored, what else was measured fills up."""
    stored = list(result.verdict.reasons)
    also = [f"Besides: {text}" for text in _also(result, writer)]
    first = (stored + also)[:REASONS] if stored else []
    return first, stored[REASONS:]


def leading_fault(result: Result) -> FaultRecord | None:
    """The surest fault that was found."""
    found = [fault for fault in result.faults if fault.level == "found"]
    return max(found, key=lambda fault: fault.likelihood, default=None)


def first_picture(result: Result, writer: Writer = pictures.SI) -> Picture | None:
    """The loop where the leading fault shows; else force against speed; None where neither can be drawn."""
    fault = leading_fault(result)
    loop = None if fault is None else fault_picture(result, fault, "first", writer)
    if loop is None:
        return pictures.force_picture(result, writer)
    return replace(loop, x_axis=pictures.TRAVEL_AXIS, y_axis=pictures.FORCE_AXIS)


def for_owner(result: Result) -> list[str]:
    """Sentences without any term of the trade; no fault that is not judged yet."""
    judged = () if result.verdict.step in FIRST else result.faults
    faults = [TOLD[f.code].plain for f in judged if f.level == "found" and f.code in TOLD]
    return [*answer_to(result), *dict.fromkeys(faults)]


def against_reference(result: Result) -> str:
    """How many forces are inside the tolerance of the known-good unit; empty without a reference."""
    answers = Counter(point.answer for point in result.reference or ())
    if not answers:
        return ""
    rest = [f"{n} {words.ANSWERS[answer]}" for answer in ("out", "not established") if (n := answers[answer])]
    said = f"{answers['in']} of {answers.total()} forces are inside the tolerance of the known-good unit"
    return "; ".join([said, *rest]) + "."


def _also(result: Result, writer: Writer) -> list[str]:
    lines = [text] if (text := against_reference(result)) else []
    said = {SAID_BY_FAULT, *(item.key for fault in result.faults for item in fault.evidence if item.key)}
    telling = [asked for asked in result.requirements if asked.key not in said]
    more = (_asked(asked, writer) for asked in sorted(telling, key=lambda asked: asked.answer != "out"))
    lines += [line for line in more if line]
    if not any(entry.severity == "bad" for entry in result.quality):
        lines.append("nothing was noticed in the data that would stand against using it.")
    return lines


def _asked(asked: RequirementRecord, writer: Writer) -> str | None:
    """One thing that was asked and measured, in a sentence; None where there is no single number."""
    if asked.measured is None or asked.answer == "not established" or asked.limit_high is None:
        return None
    value = writer.given(asked.measured.value, asked.unit, 2)
    allowed = (
        f"at most {writer.given(asked.limit_high, asked.unit)}"
        if asked.limit_low is None
        else writer.between(asked.limit_low, asked.limit_high, asked.unit).rstrip()
    )
    word = "inside" if asked.answer == "in" else "outside"
    return f"{asked.name} is {value}, {word} what is allowed ({allowed})."
