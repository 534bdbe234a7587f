"""Measures become findings: what was looked for, what explains it, how surely; and what was not looked for."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence

from dampkit.damper.kinds import HYDRAULIC, STEERING, Kind
from dampkit.faults.alike import alike_measures
from dampkit.faults.causes import CAUSES, Cause
from dampkit.faults.discs import disc_measures
from dampkit.faults.explain import Instance, Key, instances, likelihoods
from dampkit.faults.fade import fade_measures
from dampkit.faults.finding import Finding, Level, Measure, NotLookedFor
from dampkit.faults.friction import friction_measures
from dampkit.faults.gas import gas_measures
from dampkit.faults.late import late_measures
from dampkit.faults.needs_of import NEEDS, has_oil, lacking
from dampkit.faults.play import play_measures
from dampkit.faults.under_test import UnderTest
from dampkit.faults.valves import valve_measures
from dampkit.frozen import frozen

MEASURES: tuple[Callable[[UnderTest], Iterable[Measure]], ...] = (
    friction_measures,
    play_measures,
    late_measures,
    gas_measures,
    fade_measures,
    valve_measures,
    disc_measures,
    alike_measures,
)
MODEL_DOUBT = 0.002  # as DOUBT, of what hangs on the valve's model: 16 of 6495 that no fault put in moves, same fleet
FOUND = 0.95  # probability from which a fault is found; [jcgm106] 8.3 for the idea of a guard band ...
SUSPECTED = 0.5  # ... and of the surest of its measures from which it is suspected
SHARED = 0.3  # ... with so much of all explanations: two that are as good both stay
# Odds of a suspicion over what its measures say by themselves, since most units have not that fault and what no table of
# causes holds may have made them: by likelihood over suspicions of a made-up fleet half of which is sound (mixed study,
# seed 21: 0.33; part of 31: 0.34).
SUSPICION_ODDS = 0.33


@frozen
class Diagnosis:
    """`findings`: likeliest first. `measures`: all that were made.

    Examples
    --------
    >>> test = dampkit.read_test(["sample_runs/drawing_table.csv"])
    >>> dampkit.diagnose(test)
    <Diagnosis: nothing found or suspected; ... causes not looked for>
    """

    findings: tuple[Finding, ...]
    not_looked_for: tuple[NotLookedFor, ...]
    measures: tuple[Measure, ...]

    def __repr__(self) -> str:
        found = [f"{f.code} {f.level} ({f.likelihood:.0%})" for f in self.findings] or ["nothing found or suspected"]
        return f"<Diagnosis: {', '.join(found)}; {len(self.not_looked_for)} causes not looked for>"


def diagnose(test: UnderTest) -> Diagnosis:
    """The causes that the whole test shows; those that it cannot show are listed with what they lack."""
    kind = test.kind
    known = NEEDS["reference_declared"](test)
    applicable = [c for c in CAUSES if _of_kind(c, kind) and not (c.without_reference and known)]
    seen = () if kind is not None or has_oil(test) else ("kind",)
    missing = {c: lacking(test, c.needs) + (seen if set(c.kinds) <= set(HYDRAULIC) else ()) for c in applicable}
    measures = tuple(m for made in MEASURES for m in made(test))
    by_key: dict[Key, Measure] = {(m.key, m.direction): m for m in measures}
    asked = instances([c for c in applicable if not missing[c]])
    share = likelihoods(asked, {key: _credible(m) for key, m in by_key.items()})
    by_direction = sorted(asked, key=lambda i: -share[i].of_direction)
    made = [f for i in by_direction if (f := _finding(i, share[i].of_code, by_key)) is not None]
    return Diagnosis(_once(made), _not_looked_for(asked, missing, by_key), measures)


def _of_kind(cause: Cause, kind: Kind | None) -> bool:
    """Of no declared kind: whatever an oil damper for a wheel can have."""
    if kind is None:
        return bool(set(HYDRAULIC) & set(cause.kinds) - set(STEERING))
    return kind in cause.kinds


def _credible(measure: Measure) -> float:
    doubt = 0.0 if measure.direct else MODEL_DOUBT
    return min(max(measure.beyond, doubt), 1 - doubt)


def _finding(instance: Instance, share: float, by_key: dict[Key, Measure]) -> Finding | None:
    """As sure as its share, and no surer than the least sure of its measures.

    Found only with a direct one, and where all was measured that tells it from what looks alike.
    """
    if not instance.moves <= by_key.keys():
        return None
    evidence = sorted((m for k, m in by_key.items() if k in instance.moves), key=lambda m: not m.direct)
    least = min(m.beyond for m in evidence)
    sure = min(share, least)
    level: Level = "suspected"
    if sure >= FOUND and any(m.direct for m in evidence) and instance.denies <= by_key.keys():
        level = "found"
    elif share < SHARED or max(m.beyond for m in evidence) < SUSPECTED:
        return None
    likelihood = min(sure, 0.99) if level == "found" else _suspicion(min(sure, FOUND))
    stage = next((m.stage for m in evidence if m.stage is not None), None)
    figures = tuple(
        {name: value for m in reversed(evidence) for name, value in m.figures}.items()
    )  # the leading one's first
    return Finding(
        instance.cause.code, level, round(likelihood, 3), tuple(evidence), instance.direction, stage, figures
    )


def _suspicion(sure: float) -> float:
    odds = SUSPICION_ODDS * sure / (1 - sure)
    return odds / (1 + odds)


def _once(made: Sequence[Finding]) -> tuple[Finding, ...]:
    """Each code once, its likeliest, the first of equals; likeliest first."""
    best: dict[str, Finding] = {}
    for finding in sorted(made, key=lambda f: (f.level != "found", -f.likelihood)):
        best.setdefault(finding.code, finding)
    return tuple(best.values())


def _not_looked_for(
    asked: Sequence[Instance], missing: dict[Cause, tuple[str, ...]], by_key: dict[Key, Measure]
) -> tuple[NotLookedFor, ...]:
    """Codes none of whose variants could be asked."""
    could = {i.cause.code for i in asked if i.moves <= by_key.keys()}
    lacks: dict[str, tuple[str, ...]] = {}
    for cause, needs in missing.items():
        if cause.code not in could:
            lacks.setdefault(cause.code, needs or ("reading",))
    return tuple(NotLookedFor(code, needs) for code, needs in lacks.items())
