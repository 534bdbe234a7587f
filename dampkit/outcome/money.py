"""Rebuild or replace: what rules a course out comes first, money after it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from dampkit.frozen import frozen
from dampkit.outcome.costs import CostSpec, CourseName
from dampkit.outcome.course_costs import Weighed, difference, flips, weigh
from dampkit.outcome.decision_record import CourseRecord, CoursesRecord
from dampkit.outcome.verdict import Ground, Verdict
from dampkit.quantities import number

if TYPE_CHECKING:
    from dampkit.outcome.inspection import Cure, Seen

KEEPS: tuple[CourseName, ...] = ("adjust", "rebuild", "rechrome", "new_rod", "sleeve")  # courses that keep the unit
CURE: dict[CourseName, Cure] = {"rechrome": "rod", "new_rod": "rod", "sleeve": "bore"}  # what each of them renews
FLIPS_TOLD = 4
NOW: dict[CourseName, str] = {
    "adjust": "adjusting",
    "rebuild": "rebuilding",
    "rechrome": "rebuilding with the rod rechromed",
    "new_rod": "rebuilding with a new rod",
    "sleeve": "rebuilding with the bore sleeved",
    "new": "a new unit",
    "exchange": "an exchange unit",
}


@frozen
class Choice:
    verdict: Verdict
    courses: CoursesRecord | None


def choose(verdict: Verdict, costs: CostSpec | None, seen: Seen | None) -> Choice:
    """The verdict after parts and money have had their say; the record is None without a cost file.

    Only a rebuild gives way to money, and only where the replacement is cheaper beyond the doubt of the cost file.
    """
    verdict = _without_parts(verdict, seen)
    if costs is None or verdict.action not in ("adjust", "rebuild", "replace"):
        return Choice(verdict, None)
    weighed = weigh(costs)
    closed = {w.course: _ruled_out(w.course, verdict, seen) for w in weighed}
    usable = [w for w in weighed if closed[w.course] is None]
    wanted = _would_do(verdict, seen)
    if wanted and not any(w.course in wanted for w in usable) and not (seen is not None and seen.parts_missing):
        named = " or ".join(NOW[name] for name in wanted)
        chosen, reasons = None, [f"The cost file has no table for {named}, so it is not weighed."]
    else:
        chosen, reasons = _cheapest(usable, costs)
    rivals = _rivals(usable)
    record = CoursesRecord(
        currency=costs.currency,
        courses=tuple(_course(w, costs, closed[w.course]) for w in weighed),
        chosen=chosen,
        reasons=tuple(reasons),
        flips=() if rivals is None else flips(rivals[0].course, rivals[1].course, costs)[:FLIPS_TOLD],
    )
    if verdict.action == "rebuild" and chosen in ("new", "exchange"):
        verdict = Verdict("replace", (*verdict.grounds, Ground("money", chosen)), f"order:{chosen}")
    return Choice(verdict, record)


def _would_do(verdict: Verdict, seen: Seen | None) -> tuple[CourseName, ...]:
    """The courses that keep the unit and put it right; empty where it is beyond them."""
    if verdict.action == "adjust":
        return ("adjust",)
    if verdict.action != "rebuild":
        return ()
    cures = () if seen is None else seen.cures
    return tuple(name for name, cure in CURE.items() if cures == (cure,)) if cures else ("rebuild",)


def _without_parts(verdict: Verdict, seen: Seen | None) -> Verdict:
    if verdict.action != "rebuild" or seen is None or not seen.parts_missing:
        return verdict
    return Verdict("replace", (*verdict.grounds, Ground("parts_missing")), "fit_another")


def _ruled_out(course: CourseName, verdict: Verdict, seen: Seen | None) -> str | None:
    """Why a course is not open, whatever it costs: safety and structure, parts, then whether it would do."""
    if course in KEEPS and seen is not None and seen.structure:
        return seen.structure[0]
    if course in KEEPS and course != "adjust" and seen is not None and seen.parts_missing:
        return "The parts for it are not to be had."
    if course in KEEPS and verdict.action == "replace":
        return "The unit is beyond it."
    if course == "adjust" and verdict.action != "adjust":
        return "Setting alone does not put it right."
    if course in KEEPS and course not in ("adjust", *_would_do(verdict, seen)):
        return "It is not the work that this unit wants."
    return None


def _rivals(usable: list[Weighed]) -> tuple[Weighed, Weighed] | None:
    """The cheapest open course, and the one to hold it against: the cheapest that keeps the unit, else the next."""
    if len(usable) < 2:
        return None
    keeping = [w for w in usable[1:] if w.course in KEEPS]
    return usable[0], usable[1] if usable[0].course in KEEPS or not keeping else keeping[0]


def _cheapest(usable: list[Weighed], costs: CostSpec) -> tuple[CourseName | None, list[str]]:
    """The course to take among those that are open; a close call keeps the unit."""
    if not usable:
        return None, ["No course with a table in the cost file is open."]
    rivals = _rivals(usable)
    if rivals is None:
        return usable[0].course, [f"Only {NOW[usable[0].course]} is open."]
    first, second = rivals
    gap = difference(second.course, first.course, costs)
    words = (
        f"{NOW[first.course].capitalize()} costs {number(first.expected.value)} {costs.currency} in the long run, "
        f"{NOW[second.course]} {number(second.expected.value)}: {number(gap.value)} more "
        f"({number(gap.low)} to {number(gap.high)})."
    )
    if gap.low > 0:
        return first.course, [words]
    kept = next((w.course for w in rivals if w.course in KEEPS), first.course)
    return kept, [words, f"Too close to call on money, so {NOW[kept]} stands."]


def _course(weighed: Weighed, costs: CostSpec, closed: str | None) -> CourseRecord:
    spec = costs.given[weighed.course]
    return CourseRecord(
        course=weighed.course,
        expected_cost=weighed.expected,
        scatter=weighed.scatter,
        days=spec.days,
        warranty_months=spec.warranty_months,
        ruled_out=closed,
    )
