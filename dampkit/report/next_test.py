"""The next test in words: a numbered list for the page, and a file that the person at the bench follows."""

from __future__ import annotations

import csv
import io
import shlex

from dampkit.errors import BadSettings
from dampkit.faults.programme import WARM_CYCLES
from dampkit.outcome.advice_record import NextTestRecord, TestStepRecord
from dampkit.outcome.result import Result
from dampkit.report import fault_words, words
from dampkit.report.numbers import Writer, brief
from dampkit.report.ways import said_once

# What is done, where it is no stage of the bench; a test without words here is said as in the list of tests
DO: dict[str, str] = {
    "prime": "Prime it upright: {cycles} slow full strokes by hand, not logged.",
    "rest": "Let it rest upright for {rest}.",
    "rigid_link": "Fit a rigid link in the same clevises in place of the unit and run the slowest stage: play that is left is the bench's. Tighten or renew what has it, then fit the unit again.",
    "put_right": "Put right first what is said above against the data or the mounting.",
    "side_load": "Slacken the clevises and let the unit find its line, so that the bench cannot push the rod sideways; tighten again.",
    "stand_upright": "Stand the unit upright on the bench.",
    "stroke_by_hand": "Stroke it by hand, upright and primed, slowly through both turns. Is there travel without force at a turn? Write the answer on the inspection sheet (hand_stroke).",
    "push_by_hand": "With the log running push the unit together by hand, then pull it out; note which came first. Say in the bench file which sign that was ([signs]).",
}
RUN = "Log {cycles} cycles at {velocity}{how}."
READ = "Read the force at {velocity}, out and in."  # of a table or a test by hand, which has no stroke to keep to
HANG = "Hang a load that moves it at about {velocity}, out and in, and time its travel."
IN_FAVOUR = ("reference_in", "ratio_in", "felt", "no_fault", "gas_about")  # grounds that leave nothing open
POSTURES = {"upright": "upright", "lying": "lying, as before", "inverted": "on its head, as before"}
HEADINGS = (
    "step", "do", "velocity_m_s", "stroke_mm", "middle_mm", "frequency_hz", "cycles", "rest_s", "rod_turned_degrees",
    "only_if_bench_is_made_for_it", "verdict_waits_for_it", "text",
)  # fmt: skip
CARE = ("Bench: crushing and ejection", "Gas-charged units", "Hot oil and fluid injection")  # of the page's cautions


def next_test_worded(result: Result, writer: Writer) -> NextTestRecord | None:
    """The same with its sentences."""
    test = result.next_test
    if test is None:
        return None
    hung = by_hand(result)
    steps = tuple(step.model_copy(update={"text": _text(step, writer, hung=hung)}) for step in test.steps)
    return test.model_copy(update={"steps": steps, "keep": _keep(test, writer, hung=hung), "then": _then(test, result)})


def by_hand(result: Result) -> bool:
    """Whether the record is of loads hung on the unit, and not of a bench."""
    return any(f.form == "hand-test" for f in result.run.files)


def why(step: TestStepRecord) -> list[str]:
    """What a stage is for; empty where its own words say it."""
    if step.do != "run":
        return []
    return [fault_words.NEXT_TESTS[key] for key in step.tells if key in fault_words.NEXT_TESTS]


def next_test_text(result: Result) -> str:
    """The programme as plain text, a step a line with a box to tick. Raises BadSettings where there is none."""
    test = _programme(result)
    unit = result.damper.serial or "no serial given"
    care = [f"{title}: {text}" for title, text in words.CAUTIONS if title in CARE]
    lines = [f"NEXT TEST of damper {unit}, after {result.run.file} ({result.verdict.action})", ""]
    lines += ["What is open:", *(f"- {reason}" for reason in _open(result)), ""]
    lines += ["Take care:", *(f"- {line}" for line in care), "", "Keep as it was:", *(f"- {k}" for k in test.keep), ""]
    lines += ["Do, in this order:"]
    for number, step in enumerate(test.steps, start=1):
        lines += [f"{number:2d}. [ ] {step.text}"]
    return "\n".join([*lines, "", f"Then: {test.then}", ""]).replace("\N{NO-BREAK SPACE}", " ")


def _open(result: Result) -> list[str]:
    """The reasons of the verdict that speak of something open."""
    grounds, reasons = said_once(result), result.verdict.reasons
    if len(grounds) != len(reasons):
        return list(reasons)
    return [text for ground, text in zip(grounds, reasons, strict=True) if ground.key not in IN_FAVOUR]


def next_test_rows(result: Result) -> str:
    """The programme as CSV, a row a step. Raises BadSettings where there is none."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(HEADINGS)
    for number, s in enumerate(_programme(result).steps, start=1):
        stroke, middle = (None if x is None else round(1e3 * x, 2) for x in (s.stroke_m, s.middle_m))
        hz, speed = (None if x is None else float(f"{x:.4g}") for x in (s.frequency_hz, s.velocity_m_s))
        flags = ("yes" if flag else "no" for flag in (s.beyond, s.decides))
        row = (number, s.do, speed, stroke, middle, hz, s.cycles, s.rest_s, s.turned_degrees, *flags, s.text)
        writer.writerow(["" if x is None else str(x).replace("\N{NO-BREAK SPACE}", " ") for x in row])
    return out.getvalue()


def _programme(result: Result) -> NextTestRecord:
    if result.next_test is None:
        raise BadSettings(
            result.run.file, "no further test is asked for", "a result with something open that a test settles"
        )
    return result.next_test


def _text(step: TestStepRecord, writer: Writer, *, hung: bool) -> str:
    if step.do == "run":
        return _hung(step, writer) if hung else _run(step, writer)
    rest = "" if step.rest_s is None else writer.given(step.rest_s / 60, "min")
    told = DO.get(step.do) or fault_words.NEXT_TESTS.get(step.do, step.do)
    return told.format(cycles=step.cycles, rest=rest)


def _hung(step: TestStepRecord, writer: Writer) -> str:
    text = HANG.format(velocity=writer.given(step.velocity_m_s or 0.0, "m/s"))
    return f"{text} Only if stand and hook are made for such a load." if step.beyond else text


def _run(step: TestStepRecord, writer: Writer) -> str:
    how = []
    if step.stroke_m is not None:
        how.append(f"stroke {writer.given(1e3 * step.stroke_m, 'mm')}")
    if step.middle_m:
        side = "further out" if step.middle_m > 0 else "further in"
        how.append(f"its middle {writer.given(1e3 * abs(step.middle_m), 'mm')} {side} than before")
    if step.frequency_hz is not None:
        how.append(f"{writer.given(step.frequency_hz, 'Hz')} = {brief(60 * step.frequency_hz)} a minute")
    text = (READ if step.stroke_m is None else RUN).format(
        cycles=step.cycles,
        velocity=writer.given(step.velocity_m_s or 0.0, "m/s"),
        how=f" ({', '.join(how)})" if how else "",
    )
    if step.tells == ("repeat_first",):
        lead = "To warm it" if step.cycles == WARM_CYCLES else "Last, while it is warm"
        text = f"{lead}: {text[0].lower()}{text[1:]}"
    if step.turned_degrees is not None:
        turned = f"the rod turned {step.turned_degrees:.0f} degrees from how it was fitted in this test"
        text = f"{text[:-1]}, {turned}; a record of its own."
    if step.beyond:
        text += " Faster than it ran in this test: only if bench, clevises and cell are made for it, else leave it out."
    return text


def _keep(test: NextTestRecord, writer: Writer, *, hung: bool) -> tuple[str, ...]:
    of_bench = "The same clevises and load cell zero; no adjuster touched."
    lines = ["The same stand, hook and marks of the travel; no adjuster touched." if hung else of_bench]
    if test.posture is not None:
        lines.append(
            f"The unit stands {POSTURES[test.posture]}."
            if test.posture == "upright"
            else f"The unit lies or stands {POSTURES[test.posture]}."
        )
    if test.stroke_m is not None:
        lines.append(
            f"Stroke {writer.given(1e3 * test.stroke_m, 'mm')} about the same middle, unless a step says otherwise."
        )
    if test.temperature_c is not None:
        lines.append(
            f"Oil within 5 K of {writer.given(test.temperature_c, '°C', 2)} at the start of each stage: let it cool in between."
        )
    if test.top_velocity_m_s is not None:
        lines.append(
            f"No faster than {writer.given(test.top_velocity_m_s, 'm/s')}, the most that was run before, unless a step says so."
        )
    return tuple(lines)


def _then(test: NextTestRecord, result: Result) -> str:
    if all(step.do != "run" for step in test.steps):
        return "write the answers into the files and run the same command again."
    if any(step.turned_degrees is not None for step in test.steps):
        return "see where the tight place lies in each record, and write on the inspection sheet whether it went round with the rod (tight_place_turned)."
    if not result.run.stages:
        return "analyse the new record by itself: a list of forces and another record are not one test."
    if not test.joined:
        return "analyse the new record by itself: what was measured before is not of the same state."
    files = " ".join(
        shlex.quote(name) for name in dict.fromkeys(f.file for f in result.run.files) or (result.run.file,)
    )
    return f"analyse old and new together, as one test: dampkit analyse {files} NEW.csv, with the same bench, damper and vehicle files."
