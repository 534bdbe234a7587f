"""The one side for the mechanic: verdict, evidence in three lines, what to do in order, parts, next test, blanks to fill in."""

from __future__ import annotations

import re

from dampkit.damper.kinds import KINDS, UNKNOWN, KindFacts
from dampkit.frozen import frozen
from dampkit.outcome.result import Result
from dampkit.report import words
from dampkit.report.customer_sheet import check_of, cut, facts
from dampkit.report.first import reasons
from dampkit.report.numbers import Writer
from dampkit.report.sentences import leaves_words, put_back, to_do

SENTENCE_END = re.compile(r"(?<=[.)])\s+(?=[A-Z])(?!Or )")
PARTS, TESTS, TO_DO = (
    6,
    8,
    10,
)  # rows that one side has room for; what is left out is said, and stands on the pages after
LONGEST = 260  # letters of one line of evidence
# what is to be written down by hand of the work: of every unit, of one with oil, with gas, with a rod, of a dry one
BLANKS = {
    "all": ("Parts used", "Bushes, eyes", "Setting found / left"),
    "oil": ("Oil out, ml / look", "Oil in, ml / grade", "Valve as found", "Valve as built"),
    "gas": ("Gas charge, bar",),
    "rod": ("Rod run-out, mm", "Rod surface", "Bore, mm"),
    "dry": ("Discs, thickness, mm", "Pull as found, N", "Pull as left, N"),
}
CAUTIONS = {
    "all": ("Suspension is safety-critical",),
    "oil": ("Hot oil and fluid injection",),
    "gas": ("Gas-charged units",),
    "dry": ("Asbestos in old linings and packings",),
    "bench": ("Bench: crushing and ejection",),
}


@frozen
class MechanicSheet:
    """Everything that the mechanic's side says, in words; `more` names what did not fit."""

    facts: tuple[tuple[str, str], ...]
    checked: str | None
    verdict: str
    sentence: str
    evidence: tuple[str, ...]
    to_do: tuple[str, ...]
    figures: tuple[str, ...]
    parts: tuple[tuple[str, str, str], ...]
    notes: tuple[str, ...]
    next_test: tuple[str, ...]
    blanks: tuple[str, ...]
    cautions: tuple[tuple[str, str], ...]
    more: tuple[str, ...]


def mechanic_sheet(result: Result, writer: Writer) -> MechanicSheet:
    saying = words.VERDICTS[result.verdict.action]
    evidence, left = reasons(result, writer)
    do, parts, tests = _to_do(result, writer), _parts(result), _next_test(result, writer)
    lists = (
        ("reasons", left),
        ("things to do", do[TO_DO:]),
        ("parts", parts[PARTS:]),
        ("steps of the test", tests[TESTS:]),
    )
    notes = () if result.advice is None else tuple(text for text in [leaves_words(result.advice)] if text)
    kind = f"{result.damper.kind}" if result.damper.kind else "not given"
    return MechanicSheet(
        facts=(*facts(result), ("Kind", kind)),
        checked=check_of(result),
        verdict=saying.word,
        sentence=saying.sentence,
        evidence=tuple(cut(line, LONGEST) for line in evidence),
        to_do=tuple(do[:TO_DO]),
        figures=tuple(put_back(result, writer)) if result.verdict.grounds else (),
        parts=tuple(parts[:PARTS]),
        notes=notes,
        next_test=tuple(tests[:TESTS]),
        blanks=tuple(blank for group in _groups(result) for blank in BLANKS.get(group, ())),
        cautions=tuple(
            c for group in (*_groups(result), "bench") for c in words.CAUTIONS if c[0] in CAUTIONS.get(group, ())
        ),
        more=tuple(f"{len(rest)} more {what}" for what, rest in lists if rest),
    )


def _to_do(result: Result, writer: Writer) -> list[str]:
    """A line a sentence, in the order in which it is done, its figures apart; of a result stored without them, as stored."""
    figures = put_back(result, writer)
    lines = [line for line in to_do(result, writer) if line not in figures]
    lines = lines if result.verdict.grounds else [result.verdict.next_step]
    return [part for line in lines for part in SENTENCE_END.split(line) if part]


def _parts(result: Result) -> list[tuple[str, str, str]]:
    advice = result.advice
    if advice is None:
        return []
    return [(part.part, part.do, "cannot be undone" if part.irreversible else "") for part in advice.parts]


def _next_test(result: Result, writer: Writer) -> list[str]:
    """The programme that settles what is open; else this test's own speeds again, after the work."""
    if result.next_test is not None:
        return [step.text for step in result.next_test.steps]
    if result.verdict.action not in ("adjust", "rebuild"):
        return []
    return [
        f"{stage.cycles} cycle{'s' if stage.cycles != 1 else ''} at {writer.given(stage.peak_velocity_m_s, 'm/s', 2)}, "
        f"stroke {writer.given(1e3 * stage.stroke_m, 'mm')}, as in this test."
        for stage in result.run.stages
    ]


def _groups(result: Result) -> tuple[str, ...]:
    """Of what the unit is, for what it is asked and warned of; of an unknown kind everything with oil and gas."""
    kind: KindFacts = next((row for name, row in KINDS.items() if name == result.damper.kind), UNKNOWN)
    if not kind.oil:
        return ("all", "dry")
    return tuple(
        group
        for group, asked in (("all", True), ("oil", True), ("rod", not kind.arm), ("gas", kind.gas != "none"))
        if asked
    )
