"""What the verdict waits for, as questions to the next test; and that test as a record."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from dampkit.faults.diagnose import Diagnosis
from dampkit.faults.next_tests import HAND_TEST, Doubt, doubts_of, next_tests
from dampkit.faults.programme import programme
from dampkit.faults.under_test import UnderTest
from dampkit.needs.requirement import RATED_SPEED_M_S
from dampkit.outcome.advice_record import NextTestRecord, TestStepRecord
from dampkit.outcome.decision_record import CoverageRecord
from dampkit.outcome.ground import LOOK_FIRST
from dampkit.outcome.verdict import UP_TO_KNEE, Ground, Known, Verdict

SETTLED = ("adjust", "rebuild", "replace")  # the unit is worked on before it is tested again, and then all of it
TESTED_FIRST = (LOOK_FIRST, "remedy:aerated_oil")  # though the unit is to be worked on: the test may spare it
ITSELF = ("asked_open", "asked_out", "direction_open", "dead", "absurd_share", "nothing_to_compare", "not_compared")


def open_tests(
    test: UnderTest, diagnosis: Diagnosis, known: Known, verdict: Verdict
) -> tuple[tuple[str, ...], NextTestRecord | None]:
    """Keys of the tests that would tell what is open, cheapest first, and the cheapest of them as one programme.

    No programme where the verdict is to work on the unit. What hands have done already is not asked again.
    """
    felt = known.seen is not None and bool(known.seen.ruled_out)
    doubts = (*waits_for(test, known, verdict), *doubts_of(test, diagnosis))
    keys = tuple(t.key for t in next_tests(test, doubts) if not (felt and t.key == HAND_TEST))
    if verdict.action in SETTLED and verdict.step not in TESTED_FIRST:
        return keys, None
    made = programme(test, [d for d in doubts if not (felt and d.key in ("loops", "hand_check"))])
    if made is None:
        return keys, None
    oil = None if test.spec is None else test.spec.oil
    upright = None if test.facts.any_posture else "upright"
    return keys, NextTestRecord(
        steps=tuple(TestStepRecord.of(step) for step in made.steps),
        joined=made.joined,
        posture=upright if oil is None else oil.posture,
        top_velocity_m_s=made.top_m_s,
        stroke_m=made.stroke_m,
        temperature_c=made.temperature_c,
    )


def waits_for(test: UnderTest, known: Known, verdict: Verdict) -> tuple[Doubt, ...]:
    """The grounds of a verdict that is open, as doubts; none where it is not."""
    if verdict.action not in ("retest", "undecided") and verdict.step not in TESTED_FIRST:
        return ()
    return tuple(dict.fromkeys(doubt for ground in verdict.grounds for doubt in _doubts(ground, test, known)))


def _doubts(ground: Ground, test: UnderTest, known: Known) -> Iterator[Doubt]:
    figures = dict(ground.figures)
    if ground.key in ITSELF:
        yield Doubt(ground.key, decides=True)
    elif ground.key in ("suspected", "fault"):
        yield Doubt(ground.about, decides=True)
        suspected = {f.code for f in known.findings}
        if ground.about == "low_oil" and "aerated_oil" in suspected:
            yield Doubt("level_or_bubbles", decides=True)
    elif ground.key in ("not_looked_for", "hand_check"):
        lacks = next((n.lacks for n in known.not_looked_for if n.code == ground.about), ())
        yield from (Doubt(need, decides=True) for need in lacks)
        if ground.key == "hand_check":
            yield Doubt("hand_check", decides=True)
    elif ground.key == "data":
        measured = any(q.code == ground.about and q.clears == "measure" for q in known.quality)
        yield Doubt("data" if measured else "data_declared", decides=True)
    elif ground.key == "seen" and known.seen is not None and ground.about in known.seen.bench:
        yield Doubt("seen", decides=True)
    elif ground.key in ("reference_open", "reference_untested"):
        yield Doubt("speed_open", figures["velocity_m_s"], decides=True)
    elif ground.key == "ratio_open":
        yield Doubt("ratio_open", RATED_SPEED_M_S, decides=True)
    elif ground.key == "not_tested":
        yield Doubt("speed_open", _speed_in(ground, known), decides=True)


def _speed_in(ground: Ground, known: Known) -> float:
    """A speed of the part that was not tested: one that the reference names, the slowest of them, or its middle."""
    low = ground.about == "up to the knee"
    pieces: Sequence[CoverageRecord] = [
        c
        for c in known.coverage
        if c.direction == ground.direction and (c.piece in UP_TO_KNEE) == low and c.piece != "slow pass"
    ]
    speeds = sorted(p.velocity_m_s for p in known.reference or () if p.direction == ground.direction)
    for v in speeds:
        if any(c.from_velocity_m_s <= v < c.to_velocity_m_s for c in pieces):
            return v
    first = pieces[0]
    return float(f"{math.sqrt(max(first.from_velocity_m_s, 1e-3) * first.to_velocity_m_s):.2g}")
