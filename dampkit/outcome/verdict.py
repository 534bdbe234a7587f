"""From coverage, findings and inspection to one action: a table of cases, asked in order; the first that applies decides.

`fit` wants everything that was asked shown in, from low speed over the knee to the top speed, and every cause that would
make the unit unsafe looked for. What is not established never counts in favour, nor against. Where the person can give
what is missing the answer is `undecided`, where something must be measured again `retest`. Source: own.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from typing import TYPE_CHECKING

from dampkit.bench.run import Quality
from dampkit.damper.side_load import SIDE_LOAD_OPEN
from dampkit.expected.reference import Compared
from dampkit.faults.finding import Finding, NotLookedFor
from dampkit.frozen import frozen
from dampkit.outcome.advice_record import AdviceRecord
from dampkit.outcome.decision_record import Action, CoverageRecord, RequirementRecord
from dampkit.outcome.ground import FELT_BY_HAND, LOOK_FIRST, PUT_RIGHT, SHOWN_BY_FORCE, SIDED, UNSAFE, remedy_for
from dampkit.outcome.ground import Ground as Ground
from dampkit.outcome.ground import Verdict as Verdict
from dampkit.outcome.target import TargetAnswer
from dampkit.quantities import DIRECTIONS, Direction

if TYPE_CHECKING:
    from dampkit.outcome.inspection import Seen

WEIGHT: dict[Action, int] = {"replace": 3, "rebuild": 2, "retest": 1}
# Evidence that a person can declare; what only loops show can be felt by hand and written on the sheet
REFERENCES = ("reference", "reference_two_speeds", "reference_declared")
GIVEN = (*REFERENCES, "zero", "rod_diameter", "kind", "loops", "friction_limit")
UP_TO_KNEE = ("slow pass", "below the knee", "knee")
TRAVEL = "lost_motion"  # a level too low to pass shows here first
OF_THE_UNIT = ("lost_motion", "friction", "work_lost")  # keys of what is asked of any unit, whatever it is for
# Of rebound in both; published windows lie in 0.5 to 0.85; common practice beyond, no source
ABSURD_SHARE = (0.25, 0.93)


@frozen
class Known:
    """What the verdict is drawn from. `reference` and `target` are None where none was declared.

    `alive`: directions not shown to be without force. `rebound_share`: of both forces
    there. `hydraulic`: False for a friction damper. `needed`: readings against the band of the car. `asked`: what
    was asked of the unit, with the answers.
    """

    quality: tuple[Quality, ...] = ()
    findings: tuple[Finding, ...] = ()
    not_looked_for: tuple[NotLookedFor, ...] = ()
    coverage: tuple[CoverageRecord, ...] = ()
    reference: tuple[Compared, ...] | None = None
    target: TargetAnswer | None = None
    seen: Seen | None = None
    direction_known: bool = True
    alive: tuple[Direction, ...] = DIRECTIONS
    rebound_share: float | None = None
    hydraulic: bool = True
    needed: tuple[Compared, ...] | None = None
    asked: tuple[RequirementRecord, ...] = ()
    gas_bar: float | None = None  # where no charge is declared to hold it against
    alike: tuple[Compared, ...] | None = None  # readings against those of the other direction, of a kind that is alike
    strays: tuple[Direction, ...] = ()  # read beside the reference what the fitted valve does not make


def decide(known: Known) -> Verdict:
    """The first case of the table that applies."""
    verdict = next(verdict for case in CASES if (verdict := case(known)) is not None)
    if known.gas_bar is None or any(g.about == "low_gas_pressure" for g in verdict.grounds):
        return verdict
    about = Ground("gas_about", figures=(("bar", known.gas_bar),))
    return Verdict(verdict.action, (*verdict.grounds, about), verdict.step)


def as_can_be_made(verdict: Verdict, advice: AdviceRecord | None, known_target: TargetAnswer | None = None) -> Verdict:
    """A setting that no part of the workshop reaches is none: the valve's parts are renewed, or another unit fitted.

    A unit whose damping ratio suits the car is not given up for a force beside the band.
    """
    if verdict.action != "adjust" or advice is None or advice.answer != "out":
        return verdict
    if advice.aim == "vehicle" and (known_target is None or known_target.answer != "out"):
        return verdict
    renew = "renew_discs" if verdict.step == "set_clamp" else "renew_parts"
    kind: tuple[Action, str] = ("rebuild", renew) if advice.aim == "reference" else ("replace", "other_car")
    return Verdict(kind[0], (*verdict.grounds, Ground("cannot_be_made", advice.aim)), kind[1])


def _structure(known: Known) -> Verdict | None:
    """No bench run outweighs a bent rod or a crack that was seen."""
    if known.seen is None or not known.seen.structure:
        return None
    seen = [Ground("seen", a) for a in (*known.seen.structure, *known.seen.work)]
    return Verdict("replace", (*seen, *_found(known, "fault")), "out_of_use")


def _data(known: Known) -> Verdict | None:
    """Bad data: no verdict until it is put right; by a word where that is enough, else by a new test."""
    bad = [q for q in known.quality if q.severity == "bad"]
    if not bad:
        return None
    measured = [q for q in bad if q.clears == "measure"]
    grounds = (*(Ground("data", code) for code in dict.fromkeys(q.code for q in bad)), *_found(known, "not_judged_yet"))
    return Verdict("retest" if measured else "undecided", grounds, "data" if measured else "declare_bench")


def _loose(known: Known) -> Verdict | None:
    if known.seen is None or not known.seen.bench:
        return None
    seen = [Ground("seen", a) for a in (*known.seen.bench, *known.seen.work)]
    return Verdict("retest", (*seen, *_found(known, "not_judged_yet")), "renew_bush")


def _faults(known: Known) -> Verdict | None:
    """The weightiest remedy of the faults found; a fault that another one hides is reported but does not decide."""
    turned = known.seen is not None and known.seen.rod_turned  # what one slow pass showed, the sheet has settled
    found = [f for f in _ranked(_judged(known), "found") if not (turned and f.code == "bent_rod")]
    if not found:
        return None
    clouded = {code for f in found for code in remedy_for(f.code).clouds}
    deciding = [f for f in found if f.code not in clouded] or found
    first = max(deciding, key=lambda f: (WEIGHT[remedy_for(f.code).action], f.likelihood))
    grounds = [Ground("fault", first.code)]
    grounds += [Ground("fault" if f in deciding else "fault_clouded", f.code) for f in found if f is not first]
    seen = () if known.seen is None else tuple(Ground("seen", a) for a in known.seen.work)
    return Verdict(remedy_for(first.code).action, (*grounds, *seen, *_outside(known)), f"remedy:{first.code}")


def _work(known: Known) -> Verdict | None:
    """The bench found no fault, eyes did."""
    if known.seen is None or not known.seen.work:
        return None
    step = f"renew:{'+'.join(known.seen.cures)}" if known.seen.cures else "open_it" if known.hydraulic else "open_discs"
    return Verdict("rebuild", (*(Ground("seen", a) for a in known.seen.work), *_outside(known)), step)


def _suspicions(known: Known) -> Verdict | None:
    likely = _ranked(_judged(known), "suspected")
    if not likely:
        return None
    grounds = (*(Ground("suspected", f.code) for f in likely), *_outside(known))
    codes = {f.code for f in likely}
    step = "level_or_bubbles" if codes >= {"low_oil", "aerated_oil"} else f"look_into:{likely[0].code}"
    return Verdict("retest", grounds, step)


def _direction(known: Known) -> Verdict | None:
    if known.direction_known:
        return None
    open_yet = (Ground("direction_open"), *_found(known, "not_judged_yet"))
    return Verdict("undecided", (*open_yet, *_in_favour(known)), "which_way_is_out")


def _judged(known: Known) -> tuple[Finding, ...]:
    """What was found; without those that hang on which way is out, where that is not known."""
    return tuple(f for f in known.findings if known.direction_known or f.code not in SIDED)


def _dead(known: Known) -> Verdict | None:
    """A direction without force, or a share no damper is built with: never passed, and no fault named without a reference."""
    if dead := [d for d in DIRECTIONS if d not in known.alive]:
        return Verdict("retest", (*(Ground("dead", direction=d) for d in dead), *_outside(known)), "dead_side")
    share = known.rebound_share
    if share is not None and known.hydraulic and not ABSURD_SHARE[0] <= share <= ABSURD_SHARE[1]:
        return Verdict("retest", (Ground("absurd_share", figures=(("share", share),)), *_outside(known)), "dead_side")
    return None


def _required(known: Known) -> Verdict | None:
    """What is asked of the unit itself is not met, though no fault was named for it: said, and never set round."""
    grounds = _asked(known, "asked_out", "out", OF_THE_UNIT)
    return Verdict("retest", (*grounds, *_outside(known)), "not_met") if grounds else None


def _reference(known: Known) -> Verdict | None:
    """No fault was named, so a force outside is a matter of setting: where a change of the valve makes it, and where faults
    that make it were looked for, by a test if it can be run, else in the opened valve."""
    outside = _outside(known)
    if not outside:
        return None
    unseen = _not_put_right(known)
    unmade = [Ground("no_part_makes_it", direction=d) for d in known.strays if any(g.direction == d for g in outside)]
    grounds = (*outside, *(Ground("not_looked_for", n.code) for n in unseen), *unmade, Ground("no_fault"))
    read = [p.velocity_m_s for p in known.reference or () if p.measured_n is not None]
    slower = any(p.measured_n is None and p.velocity_m_s < max(read) for p in known.reference or ())
    if unseen and (slower or any(need not in GIVEN for n in unseen for need in n.lacks)):
        return Verdict("retest", grounds, "cover")
    if unmade:
        return Verdict("retest", grounds, "not_met")
    return Verdict("adjust", grounds, LOOK_FIRST if unseen else "set_valve" if known.hydraulic else "set_clamp")


def _not_put_right(known: Known) -> tuple[NotLookedFor, ...]:
    """Faults that a setting would hide, and that were not looked for."""
    return tuple(n for n in known.not_looked_for if n.code in PUT_RIGHT)


def _vehicle(known: Known) -> Verdict | None:
    """What its car needs. A valve that its reference cannot clear is looked at first."""
    t = known.target
    if t is not None and t.answer == "out" and t.rated_ratio is not None:
        unseen = () if known.reference is None else _not_put_right(known)
        grounds = (
            Ground("ratio_out", figures=t.figures),
            *_reference_in(known),
            *(Ground("not_looked_for", n.code) for n in unseen),
            Ground("no_fault"),
        )
        set_it = f"set_{'firmer' if t.soft else 'softer'}:{t.side_to_set if known.hydraulic else 'clamp'}"
        return Verdict("adjust", grounds, LOOK_FIRST if unseen else set_it)
    out = _beside(known.needed or (), "need_out")
    decides = known.reference is None or any(c.answer == "out" and c.against == "vehicle" for c in known.coverage)
    if not out or not decides:
        return None  # its reference answers for the unit, the damping ratio for the car: the band is said beside them
    return Verdict("adjust", (*out, *_in_favour(known), Ground("no_fault")), "set_to_need")


def _nothing_to_compare(known: Known) -> Verdict | None:
    slow = known.coverage and all(c.answer == "not tested" or c.piece == "slow pass" for c in known.coverage)
    if (known.reference, known.target, known.alike) != (None, None, None) or (slow and known.hydraulic):
        return None
    return Verdict("undecided", (Ground("nothing_to_compare"), Ground("no_fault")), "give_reference_or_car")


def _gaps(known: Known) -> Verdict | None:
    """What was asked and is not established, not compared or not looked for."""
    gaps = [*_not_established(known), *_not_covered(known), *_not_looked_for(known)]
    if not gaps:
        return None
    measure = any(must_measure for _, must_measure in gaps)
    grounds = (*(ground for ground, _ in gaps), *_in_favour(known), Ground("no_fault"))
    return Verdict("retest" if measure else "undecided", grounds, "cover" if measure else "declare_more")


def _pass(known: Known) -> Verdict:
    unseen = () if known.seen is None or not known.seen.missing else (Ground("unseen"),)
    straight = tuple(Ground("side_load_unseen") for q in known.quality if q.code in SIDE_LOAD_OPEN)
    renew = () if known.seen is None else tuple(Ground("seen", a) for a in known.seen.beside)
    step = "renew_then_fit" if renew else "look_then_fit" if unseen else "fit"
    aside = (*renew, *_beside(known.needed or (), "need_out"), Ground("no_fault"), *straight, *unseen)
    return Verdict("fit", (*_in_favour(known), *aside), step)


CASES: tuple[Callable[[Known], Verdict | None], ...] = (
    _structure,
    _data,
    _loose,
    _faults,
    _work,
    _suspicions,
    _direction,
    _dead,
    _required,
    _reference,
    _vehicle,
    _nothing_to_compare,
    _gaps,
    _pass,
)


def _not_established(known: Known) -> Iterator[tuple[Ground, bool]]:
    for p in known.reference or ():
        if p.measured_n is None:
            yield Ground("reference_untested", "", p.direction, (("velocity_m_s", p.velocity_m_s),)), True
        elif p.answer == "not established":
            yield Ground("reference_open", "", p.direction, _figures(p, p.measured_n.value)), True
    yield from ((ground, True) for ground in _asked(known, "asked_open", "not established", (TRAVEL,)))
    if any(q.code in SIDE_LOAD_OPEN for q in known.quality):
        yield from ((g, False) for g in _asked(known, "side_load_open", "not established", ("friction",)))
    if (t := known.target) is not None and t.answer == "not established":
        yield Ground("ratio_open", figures=t.figures), True


def _asked(known: Known, ground: str, answer: str, keys: Sequence[str]) -> list[Ground]:
    """What was asked, measured and answered so: surely not met, or too close to its limit to be sure."""
    return [
        Ground(ground, r.name, figures=(("value", r.measured.value), ("limit", r.limit_high)))
        for r in known.asked
        if r.answer == answer and r.key in keys and r.measured is not None and r.limit_high is not None
    ]


def _not_covered(known: Known) -> Iterator[tuple[Ground, bool]]:
    """At least one piece in up to the knee, one above it, in each direction; for a friction damper one at all."""
    for direction in DIRECTIONS:
        mine = [c for c in known.coverage if c.direction == direction]
        for low in (True, False) if known.hydraulic else (True,):
            group = [c for c in mine if not known.hydraulic or (c.piece in UP_TO_KNEE) == low]
            if any(c.answer == "in" for c in group):
                continue
            tested = any(c.answer in ("not compared", "not established") for c in group)
            about = "up to the knee" if low else "above the knee"
            yield Ground("not_compared" if tested else "not_tested", about, direction), not tested


def _not_looked_for(known: Known) -> Iterator[tuple[Ground, bool]]:
    forces_in = all(c.answer in ("in", "not tested", "not compared") for c in known.coverage)
    felt = () if known.seen is None else known.seen.ruled_out
    for entry in known.not_looked_for:
        if entry.code in UNSAFE and entry.code not in felt and not (entry.code in SHOWN_BY_FORCE and forces_in):
            key = "hand_check" if known.hydraulic and entry.code in FELT_BY_HAND else "not_looked_for"
            yield Ground(key, entry.code), not all(need in GIVEN for need in entry.lacks)


def _in_favour(known: Known) -> Iterator[Ground]:
    yield from _reference_in(known)
    if known.alike and all(p.answer == "in" for p in known.alike):
        yield Ground("alike_in", figures=(("count", float(len(known.alike) // len(DIRECTIONS))),))
    if known.seen is not None and any(n.code in known.seen.ruled_out for n in known.not_looked_for):
        yield Ground("felt")
    t = known.target
    if t is not None and t.answer == "in":
        yield Ground("ratio_in", figures=t.figures)


def _reference_in(known: Known) -> Iterator[Ground]:
    if known.reference and all(p.answer == "in" for p in known.reference):
        yield Ground("reference_in", figures=(("count", float(len(known.reference))),))


def _outside(known: Known) -> tuple[Ground, ...]:
    return _beside(known.reference or (), "reference_out")


def _beside(points: Sequence[Compared], key: str) -> tuple[Ground, ...]:
    """The readings that are surely beside their limits."""
    return tuple(
        Ground(key, "", p.direction, _figures(p, p.measured_n.value))
        for p in points
        if p.answer == "out" and p.measured_n is not None
    )


def _figures(p: Compared, measured_n: float) -> tuple[tuple[str, float], ...]:
    """`read_n` and its temperature only where the value compared is a corrected one."""
    out = [("velocity_m_s", p.velocity_m_s), ("measured_n", measured_n), ("low_n", p.low_n), ("high_n", p.high_n)]
    if p.as_read is not None:
        out += [("read_n", p.as_read.force_n), ("read_c", p.as_read.temperature_c), ("to_c", p.as_read.corrected_to_c)]
    return tuple(out)


def _found(known: Known, key: str) -> tuple[Ground, ...]:
    return tuple(Ground(key, f.code) for f in _ranked(known.findings, "found"))


def _ranked(findings: Sequence[Finding], level: str) -> list[Finding]:
    return sorted((f for f in findings if f.level == level), key=lambda f: -f.likelihood)
