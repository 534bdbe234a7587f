"""Everything asked of the unit, each held against its limits with the measurement's doubt: in, out, not established."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from dampkit.damper.kinds import CAR_N
from dampkit.damper.side_load import SIDE_LOAD_NOT_TOLD
from dampkit.expected.conformity import Answer, guard_band, judge
from dampkit.expected.reference import Compared
from dampkit.faults.fade import LIMIT_SHARE, loss_of_work
from dampkit.faults.finding import Measure
from dampkit.faults.friction import friction_limit
from dampkit.faults.under_test import UnderTest
from dampkit.needs.requirement import RATED_SPEED_M_S
from dampkit.outcome.decision_record import RequirementRecord
from dampkit.outcome.target import TargetAnswer
from dampkit.quantities import Z95, Estimate

PRACTICE = "common practice, no source"
NO_LIMIT = "no limit known for this kind: declare [damper] friction_limit_n"
FRICTION: dict[str, str] = {
    "published": "published: QC/T 491 for telescopic car dampers and struts, a car maker's test memos for levers",
    "common practice": PRACTICE,
    "declared": "declared for this unit",
}


def requirements(
    test: UnderTest,
    reference: Sequence[Compared] | None,
    target: TargetAnswer | None,
    needed: Sequence[Compared] | None = None,
    *,
    measures: Sequence[Measure] = (),
) -> tuple[RequirementRecord, ...]:
    """In the order in which they decide. What was not asked for is left out; what cannot be told is not established.

    `measures`: of the diagnosis, whose lost motion has play and springs taken off where they are known.
    """
    found = [*_lost_motion(test, measures), *_friction(test), *_fade(test)]
    if reference is not None:
        found.append(_whole("reference", "forces of the known-good unit", reference, "the damper file's window"))
    if target is not None:
        name = f"damping ratio at {RATED_SPEED_M_S:g} m/s"
        found.append(
            requirement(
                name,
                target.rated_ratio,
                target.low_ratio,
                target.high_ratio,
                "",
                "the vehicle's target",
                "damping_ratio",
            )
        )
    if needed:
        found.append(_whole("need", "forces that the vehicle needs", needed, "the vehicle's band"))
    return tuple(found)


def requirement(
    name: str, measured: Estimate | None, low: float, high: float, unit: str, basis: str, key: str = ""
) -> RequirementRecord:
    """One value with its limits, either of which may be infinite. Source: [jcgm106], [iso14253]."""
    made = None if measured is None else judge(measured, low, high)
    return RequirementRecord(
        key=key,
        name=name,
        answer="not established" if made is None else made.answer,
        probability=None if made is None else made.probability_ratio,
        measured=measured,
        limit_low=None if math.isinf(low) else low,
        limit_high=None if math.isinf(high) else high,
        guard_band=None if measured is None else guard_band(measured.half_width / Z95),
        unit=unit,
        basis=basis,
    )


def together(answers: Sequence[Answer]) -> Answer:
    """Out where one is out; in only where all are in and there is one."""
    if "out" in answers:
        return "out"
    return "in" if answers and all(a == "in" for a in answers) else "not established"


def _whole(key: str, name: str, points: Sequence[Compared], basis: str) -> RequirementRecord:
    """Several points as one: the worst answer, the least probability."""
    least = [judge(p.measured_n, p.low_n, p.high_n).probability_ratio for p in points if p.measured_n is not None]
    return RequirementRecord(
        key=key,
        name=name,
        answer=together([p.answer for p in points]),
        probability=min(least) if len(least) == len(points) and least else None,
        measured=None,
        limit_low=None,
        limit_high=None,
        guard_band=None,
        unit="N",
        basis=basis,
    )


def _lost_motion(test: UnderTest, measures: Sequence[Measure]) -> Iterator[RequirementRecord]:
    late = {m.direction: Estimate.from_standard_error(m.value, m.uncertainty) for m in measures if m.key == "late"}
    for side in test.unit.sides:
        if side.law is not None:
            name, lost = f"lost motion entering {side.direction}", late.get(side.direction, side.lost_motion_mm)
            yield requirement(name, lost, -math.inf, test.facts.late_limit_mm, "mm", PRACTICE, "lost_motion")


def _friction(test: UnderTest) -> Iterator[RequirementRecord]:
    if not test.facts.oil:
        return
    known = None if test.spec is None else friction_limit(test.spec)
    made = requirement("friction", test.unit.friction_force_n, -math.inf, math.inf, "N", NO_LIMIT, "friction")
    if known is None:
        yield made.model_copy(update={"answer": "not established", "probability": None})
        return
    limit_n, basis = known[0], FRICTION[known[1]]
    made = requirement("friction", test.unit.friction_force_n, -math.inf, limit_n, "N", basis, "friction")
    if any(q.code == SIDE_LOAD_NOT_TOLD for q in test.quality) and made.answer != "out" and known[1] != "declared":
        straight = requirement("friction", test.unit.friction_force_n, -math.inf, CAR_N, "N", basis, "friction")
        made = straight if straight.answer == "in" else straight.model_copy(update={"answer": "not established"})
    yield made


def _fade(test: UnderTest) -> Iterator[RequirementRecord]:
    """Work per cycle lost over the run, percent; the same reading as the finding's."""
    loss = loss_of_work(test.unit, test.moving)
    lost = None if loss is None else Estimate.from_standard_error(100 * loss.share, 100 * loss.doubt)
    limit = LIMIT_SHARE if loss is None else loss.limit
    yield requirement("work per cycle lost over the run", lost, -math.inf, 100 * limit, "%", PRACTICE, "work_lost")
