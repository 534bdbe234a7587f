"""From everything known to one action, ranked plain reasons and the next step.

Order: what eyes found in the structure; is the data sane; which faults were found; what else eyes found; does it match
its reference; does it suit the car. The first of these that has something against the unit decides. `fit` needs something in its favour: a reference or a target
that was met. What is not established is never counted in favour. Source: own.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from dampkit.bench.run import Quality
from dampkit.faults.finding import Finding
from dampkit.needs.requirement import RATED_SPEED_M_S
from dampkit.outcome.courses import Course, course_for
from dampkit.outcome.result import Action, ReferencePoint, RequirementRecord
from dampkit.outcome.suits import Suits
from dampkit.quantities import number

if TYPE_CHECKING:
    from dampkit.outcome.inspection import Seen

LIKELY = 0.5  # a suspected fault at least so likely holds up a `fit`; own choice
MEASURE_AGAIN = "Put right what the notes on the data say, and run the test again."
NEED_BAND = "forces that the vehicle needs"
TARGET = "the vehicle's target"
WEIGHT: dict[str, int] = {"replace": 3, "rebuild": 2, "retest": 1}


@dataclass(frozen=True)
class Known:
    """What the verdict is drawn from. `reference` and `suits` are None where none was declared."""

    quality: tuple[Quality, ...] = ()
    findings: tuple[Finding, ...] = ()
    reference: tuple[ReferencePoint, ...] | None = None
    suits: Suits | None = None
    seen: Seen | None = None
    requirements: tuple[RequirementRecord, ...] = ()


@dataclass(frozen=True)
class Verdict:
    action: Action
    reasons: tuple[str, ...]
    next_step: str


def decide(known: Known) -> Verdict:
    """The verdict: always one of the five actions, with at least one reason and a next step."""
    for judge in (_structure, _data, _loose, _faults, _work, _suspicions, _bench_limits, _reference, _vehicle):
        verdict = judge(known)
        if verdict is not None:
            return verdict
    return _in_favour(known)


def _structure(known: Known) -> Verdict | None:
    """No bench run outweighs a bent rod or a crack that was seen."""
    if known.seen is None or not known.seen.structure:
        return None
    found = [f.sentence for f in _ranked(known.findings, "found")]
    step = "Take it out of use. Fit another unit, or renew the part if the maker allows it."
    return _verdict("replace", (*known.seen.structure, *known.seen.work, *found), step)


def _loose(known: Known) -> Verdict | None:
    if known.seen is None or not known.seen.bench:
        return None
    found = [f"Not judged until then: {f.sentence}" for f in _ranked(known.findings, "found")]
    step = "Renew the worn bush and test again before opening the unit."
    return _verdict("retest", (*known.seen.bench, *known.seen.work, *found), step)


def _work(known: Known) -> Verdict | None:
    """The bench found nothing, eyes did."""
    if known.seen is None or not known.seen.work:
        return None
    step = "Open it, put right what was seen, renew the seals, fill with the right oil, prime, test again."
    return _verdict("rebuild", (*known.seen.work, *_outside(known.reference)), step)


def _data(known: Known) -> Verdict | None:
    bad = [q.message for q in known.quality if q.severity == "bad"]
    if not bad:
        return None
    seen = [f"Not judged until the data is sound: {f.sentence}" for f in _ranked(known.findings, "found")]
    return _verdict("retest", (*bad, *seen), MEASURE_AGAIN)


def _faults(known: Known) -> Verdict | None:
    """The weightiest course of the faults found; a fault that another one hides is reported but does not decide."""
    found = _ranked(known.findings, "found")
    if not found:
        return None
    clouded = {code for f in found for code in course_for(f.code).clouds}
    deciding = [f for f in found if f.code not in clouded] or found
    first = max(deciding, key=lambda f: (WEIGHT[course_for(f.code).action], f.likelihood))
    course = course_for(first.code)
    others = [f for f in found if f is not first]
    reasons = [_because(first, course)]
    reasons += [_because(f, course_for(f.code)) for f in others if f in deciding]
    reasons += [f"{_sentence(f.sentence)} Not sure before the first is put right." for f in others if f not in deciding]
    seen = () if known.seen is None else known.seen.work
    return _verdict(course.action, (*reasons, *seen, *_outside(known.reference)), course.next_step)


def _suspicions(known: Known) -> Verdict | None:
    likely = [f for f in _ranked(known.findings, "suspected") if f.likelihood >= LIKELY]
    if not likely:
        return None
    reasons = [f"Suspected, not proven: {f.sentence}" for f in likely]
    step = "Look into what is suspected and test again. " + course_for(likely[0].code).next_step
    return _verdict("retest", (*reasons, *_outside(known.reference)), step)


def _bench_limits(known: Known) -> Verdict | None:
    """A limit that is broken without a fault that explains it is looked into, never passed."""
    broken = [r for r in known.requirements if r.answer == "out" and r.measured is not None and r.basis != TARGET]
    if not broken:
        return None
    reasons = [
        f"{r.name} is {number(r.measured.value)} {r.unit}, at most {number(r.limit_high)} {r.unit} is allowed"
        for r in broken
        if r.measured is not None and r.limit_high is not None
    ]
    step = "Look for the cause (warm-up, side load, bush, oil) and test again before passing it."
    return _verdict("retest", (*reasons, *_outside(known.reference)), step)


def _reference(known: Known) -> Verdict | None:
    """No fault was named, so a force outside its window is a matter of setting."""
    outside = _outside(known.reference)
    if not outside:
        return None
    sides = _sides(known.reference)
    step = f"Set the {sides} valve to its specification and test again. If it has no setting, rebuild."
    return _verdict("adjust", (*outside, "No fault shows in the loops, so it is a matter of setting."), step)


def _vehicle(known: Known) -> Verdict | None:
    s = known.suits
    if s is None or s.answer != "out" or s.rated_ratio is None:
        return None
    soft = s.rated_ratio.value < s.low_ratio
    side = _side_to_set(s, soft)
    reasons = (
        f"Too {'soft' if soft else 'stiff'} for this car: {_ratio_words(s)}.",
        *_favour(known.reference, None),
        "No fault shows in the loops.",
    )
    step = f"Set {side} {'firmer' if soft else 'softer'} and test again, or fit a unit made for this car."
    return _verdict("adjust", reasons, step)


def _in_favour(known: Known) -> Verdict:
    """Nothing speaks against the unit: does anything speak for it?"""
    favour = _favour(known.reference, known.suits)
    missing = _not_established(known)
    minor = [f"Unlikely, but keep an eye on it: {f.sentence}" for f in _ranked(known.findings, "suspected")]
    if favour and not missing:
        unseen = _unseen(known.seen)
        step = "Look at what was not looked at, then fit it." if unseen else "Fit it."
        reasons = (*favour, "No fault found on the bench.", *minor, *_beside_need(known.requirements), *unseen)
        return _verdict("fit", reasons, f"{step} Keep this page with it.")
    if known.reference is None and known.suits is None:
        reason = "No fault found, but there is nothing to compare with, so it cannot be passed."
        step = "Give a reference for the unit or the data of the car, and run this again."
        return _verdict("retest", (reason, *minor), step)
    reasons = (*missing, *favour, "No fault found on the bench.", *minor)
    return _verdict("retest", reasons, "Test again so that the speeds above are covered and the doubt is smaller.")


def _beside_need(requirements: Sequence[RequirementRecord]) -> list[str]:
    """The target ratio decides about the car; forces beside its band at single speeds are told."""
    if any(r.name == NEED_BAND and r.answer == "out" for r in requirements):
        return ["At some speeds its force lies beside the band that the vehicle needs; see the table"]
    return []


def _unseen(seen: Seen | None) -> list[str]:
    """What an inspection sheet left open; a bench does not see it."""
    if seen is None or not seen.missing:
        return []
    return [f"Not established by eye: {', '.join(seen.missing)}"]


def _verdict(action: Action, reasons: Sequence[str], next_step: str) -> Verdict:
    return Verdict(action, tuple(_sentence(r) for r in reasons), next_step)


def _sentence(text: str) -> str:
    """With a capital and one full stop."""
    return text[:1].upper() + text[1:].rstrip(". ") + "."


def _ranked(findings: Sequence[Finding], level: str) -> list[Finding]:
    return sorted((f for f in findings if f.level == level), key=lambda f: -f.likelihood)


def _because(finding: Finding, course: Course) -> str:
    return f"{_sentence(finding.sentence)} {_sentence(course.why)}"


def _outside(reference: Sequence[ReferencePoint] | None) -> list[str]:
    return [
        f"{p.direction.capitalize()} at {p.velocity_m_s:g} m/s reads {number(p.measured_n)} N, "
        f"{'below' if p.measured_n < p.low_n else 'above'} its window of {number(p.low_n)} to {number(p.high_n)} N."
        for p in reference or ()
        if p.answer == "out" and p.measured_n is not None
    ]


def _sides(reference: Sequence[ReferencePoint] | None) -> str:
    sides = dict.fromkeys(p.direction for p in reference or () if p.answer == "out")
    return " and the ".join(sides)


def _favour(reference: Sequence[ReferencePoint] | None, suits: Suits | None) -> list[str]:
    """What was shown to be right."""
    lines = []
    if reference and all(p.answer == "in" for p in reference):
        lines.append(f"All {len(reference)} forces are within the window of its reference.")
    if suits is not None and suits.answer == "in":
        lines.append(f"It suits this car: {_ratio_words(suits)}.")
    return lines


def _not_established(known: Known) -> list[str]:
    lines = [
        f"{p.direction.capitalize()} at {p.velocity_m_s:g} m/s could not be established against its reference."
        for p in known.reference or ()
        if p.answer == "not established"
    ]
    s = known.suits
    if s is not None and s.answer == "not established":
        short = f"the stages do not reach {RATED_SPEED_M_S:g} m/s"
        why = short if s.rated_ratio is None else f"{_ratio_words(s)}, too close to call"
        lines.append(f"Whether it suits this car could not be established: {why}.")
    return lines


def _ratio_words(s: Suits) -> str:
    assert s.rated_ratio is not None
    wanted = f"{s.low_ratio:.2f} to {s.high_ratio:.2f}"
    return f"damping ratio {s.rated_ratio.value:.2f} at {RATED_SPEED_M_S:g} m/s, wanted {wanted}"


def _side_to_set(s: Suits, soft: bool) -> str:
    """The direction that is further from its share: when too soft the weaker one, when too stiff the stronger one."""
    if s.rebound_share_ratio is None or s.target_share_ratio is None:
        return "both directions"
    rebound_heavy = s.rebound_share_ratio > s.target_share_ratio
    return "compression" if rebound_heavy == soft else "rebound"
