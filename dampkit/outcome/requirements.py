"""Everything asked of the unit, each held against its limits with the measurement's doubt: in, out, not established."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

from dampkit.curves.loop import Loop
from dampkit.damper.fitted import DamperFit, ValveFit
from dampkit.faults.fade import LIMIT_SHARE
from dampkit.faults.friction import LIMIT_N as FRICTION_LIMIT_N
from dampkit.faults.judge import Case
from dampkit.faults.oil import LATE_LIMIT_MM as LOST_LIMIT_MM
from dampkit.needs.ratio import equivalent_damping
from dampkit.needs.requirement import RATED_SPEED_M_S
from dampkit.outcome.conformity import Answer, guard_band, judge
from dampkit.outcome.need_band import against_need
from dampkit.outcome.result import EstimateRecord, ReferencePoint, RequirementRecord
from dampkit.outcome.suits import Suits
from dampkit.outcome.verdict import NEED_BAND, TARGET
from dampkit.quantities import Z95, Estimate

if TYPE_CHECKING:
    from dampkit.needs.suit import Suit

FADE_LIMIT_PERCENT = 100 * LIMIT_SHARE  # of the damping at one speed, first to last time it is run
SAME_SPEED = 0.05  # share by which two stages may differ and count as the same speed
PRACTICE = "common practice, no source"


def requirements(
    case: Case, reference: tuple[ReferencePoint, ...] | None, suited: Suit | None, suits: Suits | None
) -> tuple[RequirementRecord, ...]:
    """In the order in which they decide. What was not asked for is left out; what cannot be told is not established."""
    found = [*_lost_motion(case.damper), *_friction(case), *_fade(case.curves.loops)]
    if reference is not None:
        found.append(_whole("forces of the known-good unit", reference, "the damper file's window"))
    if suited is not None and suited.need is not None:
        points = against_need(case.damper, suited.need, case.curves.run)
        found.append(_whole(NEED_BAND, points, "the vehicle's target; tolerance is common practice"))
    if suits is not None:
        name = f"damping ratio at {RATED_SPEED_M_S:g} m/s"
        found.append(requirement(name, suits.rated_ratio, suits.low_ratio, suits.high_ratio, "", TARGET))
    return tuple(found)


def requirement(
    name: str, measured: Estimate | None, low: float, high: float, unit: str, basis: str
) -> RequirementRecord:
    """One value with its limits, either of which may be infinite. Source: [jcgm106], [iso14253]."""
    made = None if measured is None else judge(measured, low, high)
    return RequirementRecord(
        name=name,
        answer="not established" if made is None else made.answer,
        probability=None if made is None else made.probability_ratio,
        measured=None if measured is None else EstimateRecord(**measured.to_dict()),
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


def _whole(name: str, points: Sequence[ReferencePoint], basis: str) -> RequirementRecord:
    """Several points as one: the worst answer, the least probability."""
    least = [
        judge(Estimate(p.measured_n, p.measured_low_n, p.measured_high_n), p.low_n, p.high_n).probability_ratio
        for p in points
        if p.measured_n is not None and p.measured_low_n is not None and p.measured_high_n is not None
    ]
    return RequirementRecord(
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


def _lost_motion(fit: DamperFit) -> Iterator[RequirementRecord]:
    for way in ("rebound", "compression"):
        lost: Estimate | None = getattr(fit, f"{way}_lost_motion_mm")
        valve: ValveFit | None = getattr(fit, way)
        if valve is not None:
            yield requirement(
                f"lost motion entering {way}, middle of the stages", lost, -math.inf, LOST_LIMIT_MM, "mm", PRACTICE
            )


def _friction(case: Case) -> Iterator[RequirementRecord]:
    """The published limit is for telescopic dampers; others have none here. Source: [qct491]."""
    kind = None if case.spec is None else case.spec.damper.kind
    if kind not in ("lever-arm", "friction-disc"):
        basis = "published requirement for telescopic dampers (QC/T 491)"
        yield requirement("friction", case.damper.friction_force_n, -math.inf, FRICTION_LIMIT_N, "N", basis)


def _fade(loops: Sequence[Loop]) -> Iterator[RequirementRecord]:
    """Fall of the equivalent damping, percent, between the first and the last stage at the fastest repeated speed."""
    pairs = [
        (a, b)
        for i, a in enumerate(loops)
        for b in loops[i + 1 :]
        if abs(a.peak_velocity_m_s / b.peak_velocity_m_s - 1) < SAME_SPEED
    ]
    fall = None
    if pairs:
        first, last = max(pairs, key=lambda pair: (round(pair[0].peak_velocity_m_s, 2), pair[1].stage.index))
        fall = fade_percent(first, last)
    yield requirement("fade between equal speeds", fall, -math.inf, FADE_LIMIT_PERCENT, "%", PRACTICE)


def fade_percent(first: Loop, last: Loop) -> Estimate | None:
    """100 (1 - c_last / c_first) with an interval from the cycles; None with fewer than two cycles in one of them."""
    before, after = equivalent_damping(first), equivalent_damping(last)
    if min(before.size, after.size) < 2:
        return None
    from scipy.special import stdtrit  # takes a while to import, and few runs ask for it

    ratio = float(after.mean() / before.mean())
    spread = math.hypot(*(float(c.std(ddof=1) / c.mean()) / math.sqrt(c.size) for c in (before, after)))
    t = float(stdtrit(min(before.size, after.size) - 1, 0.975))
    return Estimate.from_standard_error(100 * (1 - ratio), 100 * ratio * spread, t)
