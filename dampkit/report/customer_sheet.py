"""The one side for the customer: what the answer is, what was found, what is done; no term of the trade."""

from __future__ import annotations

from collections.abc import Iterator

from dampkit.errors import NO_BREAK
from dampkit.frozen import frozen
from dampkit.outcome.about_record import AboutRecord
from dampkit.outcome.decision_record import FaultRecord, GroundRecord
from dampkit.outcome.result import Result
from dampkit.report import customer_words as words
from dampkit.report.about import checked
from dampkit.report.earlier import Change, Earlier, changes
from dampkit.report.faults_told import TOLD
from dampkit.report.numbers import Writer
from dampkit.report.sentences import rounded
from dampkit.report.ways import is_dry

OF_FAULTS = ("fault", "fault_clouded", "suspected", "not_judged_yet")  # keys of grounds
FORCES = ("reference_out", "need_out")
LINES = 7  # of what was found; what does not fit is said on the pages for the workshop
WORK_TO_AGREE = ("adjust", "rebuild", "replace")
NAME, CHECK = 40, 120  # letters of a name, of the second person's check
OPEN_LINES = 12  # of what is open
DENSE = 10  # lines from which on the side is set smaller
NOT_SAID = "not given"


@frozen
class CustomerSheet:
    """Everything that the customer's side says, in words."""

    facts: tuple[tuple[str, str], ...]
    checked: str | None
    headline: str
    sentence: str
    found: tuple[str, ...]
    open: tuple[str, ...]
    done: tuple[str, ...]
    agrees: bool
    changes: tuple[Change, ...]
    cautions: tuple[str, ...]

    @property
    def dense(self) -> bool:
        return len(self.found) + len(self.open) / 2 + len(self.changes) > DENSE


def customer_sheet(result: Result, writer: Writer, earlier: Earlier | None = None) -> CustomerSheet:
    answer = answer_to(result)
    return CustomerSheet(
        facts=facts(result),
        checked=check_of(result),
        headline=answer.headline,
        sentence=answer.sentence,
        found=_found(result, writer),
        open=_open(result),
        done=_done(result),
        agrees=result.verdict.action in WORK_TO_AGREE,
        changes=() if earlier is None else changes(earlier, result, writer),
        cautions=_cautions(result),
    )


def facts(result: Result) -> tuple[tuple[str, str], ...]:
    """Whose unit it is, which one, when and by whom it was tested."""
    said = result.about or AboutRecord()
    car = said.vehicle or (result.vehicle and result.vehicle.name)
    when = " at ".join(part for part in (said.tested_on, said.tested_at) if part)
    told = (
        ("Customer", said.customer),
        ("Vehicle", car),
        ("Job", said.job),
        ("Damper, serial", result.damper.serial),
        ("Damper, type", said.unit_type),
        ("Tested on", when),
        ("Tested by", said.by if said.imported_from is None else f"not us; taken over from {said.imported_from}"),
    )
    return tuple((name, cut(text, NAME) if text else NOT_SAID) for name, text in told)


def check_of(result: Result) -> str | None:
    """The second person's check; None where there was none."""
    said = checked(result.about or AboutRecord())
    return None if said is None else cut(said, CHECK)


def cut(text: str, longest: int) -> str:
    """At most so many letters, so that one printed side holds it; the page after has the whole of it."""
    return text if len(text) <= longest else f"{text[: longest - 1]}…"


def answer_to(result: Result) -> words.Answer:
    """The verdict for somebody outside the trade."""
    step = result.verdict.step
    by_step = words.STEP_ANSWERS.get(step) or words.STEP_ANSWERS.get(step.partition(":")[0])
    return by_step or words.ANSWERS[result.verdict.action]


def _found(result: Result, writer: Writer) -> tuple[str, ...]:
    grounds = result.verdict.grounds
    lines = [text for ground in grounds for text in _ground(ground, result, writer)]
    said = {ground.about for ground in grounds if ground.key in OF_FAULTS}
    lines += [text for fault in result.faults if fault.code not in said for text in _fault(fault)]
    forces = {text for key in FORCES for text in _forces(result, key, writer)}
    lines = list(dict.fromkeys(line for line in lines if line))
    lines.sort(key=lambda line: line in forces)  # what is wrong before by how much
    return tuple(lines[:LINES]) or (words.FOUND["no_fault"],)


def _fault(fault: FaultRecord) -> Iterator[str]:
    text = _plain(fault.code)
    yield text if fault.level == "found" else _doubted(words.SUSPECTED, text)


def _plain(code: str) -> str:
    return TOLD[code].plain if code in TOLD else words.FAULT_OTHER


def _doubted(template: str, text: str) -> str:
    return template.format(fault=text[0].lower() + text[1:])


def _ground(ground: GroundRecord, result: Result, writer: Writer) -> Iterator[str]:
    """What one ground says, in plain words; nothing where it is said elsewhere."""
    key, about = ground.key, ground.about
    if key in OF_FAULTS:
        yield from _about_fault(key, _plain(about))
    elif key == "seen":
        yield words.SEEN.get(about, words.SEEN_OTHER)
    elif key in FORCES:
        yield from _forces(result, key, writer)
    elif key == "asked_out":
        yield _asked(ground, result, writer)
    elif key == "ratio_out":
        soft = ground.figures.get("ratio", 0.0) < ground.figures.get("low", 0.0)
        yield words.FOUND["ratio_soft" if soft else "ratio_stiff"]
    elif key in words.FOUND:
        yield words.FOUND[key].format(way=words.WAYS.get(ground.direction or "", "moved"))


def _about_fault(key: str, text: str) -> Iterator[str]:
    templates = {"suspected": words.SUSPECTED, "not_judged_yet": words.NOT_JUDGED, "fault_clouded": words.NOT_JUDGED}
    yield _doubted(templates[key], text) if key in templates else text


def _forces(result: Result, key: str, writer: Writer) -> Iterator[str]:
    """Of each direction the reading that is furthest beside its limits."""
    for direction, way in words.WAYS.items():
        mine = [g.figures for g in result.verdict.grounds if g.key == key and g.direction == direction]
        mine = [f for f in mine if {"measured_n", "low_n", "high_n", "velocity_m_s"} <= set(f)]
        if not mine:
            continue
        worst = max(mine, key=lambda f: max(f["low_n"] / max(f["measured_n"], 1.0), f["measured_n"] / f["high_n"]))
        yield words.FOUND[key].format(
            way=way,
            much="soft" if worst["measured_n"] < worst["low_n"] else "firm",
            measured=writer.value(worst["measured_n"], "N"),
            velocity=writer.given(worst["velocity_m_s"], "m/s"),
            window=writer.between(worst["low_n"], worst["high_n"], "N").replace(" N", f"{NO_BREAK}N"),
        )


def _asked(ground: GroundRecord, result: Result, writer: Writer) -> str:
    asked = next((r for r in result.requirements if r.name == ground.about), None)
    if asked is None or asked.key not in words.ASKED:
        return words.ASKED_OTHER
    value, limit = (writer.given(rounded(ground.figures[name]), asked.unit) for name in ("value", "limit"))
    return words.ASKED[asked.key].format(value=value, limit=limit)


def _open(result: Result) -> tuple[str, ...]:
    """What this test does not tell; nothing where it tells all."""
    grounds = [words.OPEN[g.key] for g in result.verdict.grounds if g.key in words.OPEN]
    sheet = {} if result.inspection is None else result.inspection.answers
    seen = {code for question, answer in sheet.items() for code in words.ANSWERED.get(f"{question}: {answer}", ())}
    lacking = [n.code for n in result.not_looked_for if n.code not in seen]
    unchecked = [TOLD[code].unchecked if code in TOLD else words.UNCHECKED_OTHER for code in lacking]
    told = list(dict.fromkeys([*grounds, *unchecked]))
    return tuple(told) if len(told) <= OPEN_LINES else (*told[: OPEN_LINES - 1], words.OPEN_MORE)


def _done(result: Result) -> tuple[str, ...]:
    kind, _, about = result.verdict.step.partition(":")
    if kind == "remedy":
        first = TOLD[about].work if about in TOLD else words.WORK_OTHER
        return (first, words.TESTED_AGAIN) if result.verdict.action == "rebuild" else (first,)
    return words.DONE.get(result.verdict.step) or words.DONE.get(kind) or words.DONE_OTHER


def _cautions(result: Result) -> tuple[str, ...]:
    first = words.CAUTION_FIT if result.verdict.action == "fit" else words.CAUTION_NOT_FIT
    return (first, words.CAUTION_DRY if is_dry(result) else words.CAUTION_OIL, *words.CAUTIONS_ALWAYS)
