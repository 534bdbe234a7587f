"""A measure against its limit: found, suspected or nothing, by how sure the data make it."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import Literal

from dampkit.curves.loop import Curves, Loop
from dampkit.damper.declared import DamperSpec, Kind
from dampkit.damper.fitted import DamperFit
from dampkit.damper.points import SLOW_M_S
from dampkit.faults.finding import Evidence, Finding
from dampkit.faults.held_back import HeldBack, held_back
from dampkit.quantities import normal_share

FOUND = 0.95  # probability of being beyond the limit from which a fault is found ...
SUSPECTED = 0.5  # ... and from which it is suspected; [jcgm106] 8.3 for the idea of a guard band
# A suspicion is worth less than its measures alone say, since another fault may have made them: of the way from even
# odds to what the measures say, by least squares over 48 suspicions of a made-up fleet (seeds 5 and 6) that is not the
# published study's (seed 1), which checks it.
SUSPICION_WORTH = 0.64
PRACTICE = "common practice, no source"


@dataclass(frozen=True)
class Case:
    """All that a signature may look at."""

    curves: Curves
    damper: DamperFit
    spec: DamperSpec | None

    @property
    def kind(self) -> Kind | None:
        return None if self.spec is None else self.spec.damper.kind

    @property
    def moving(self) -> tuple[Loop, ...]:
        """Loops faster than a slow pass, in the order they were run."""
        return tuple(loop for loop in self.curves.loops if loop.peak_velocity_m_s >= SLOW_M_S)

    @property
    def slow_pass(self) -> Loop | None:
        slow = [loop for loop in self.curves.loops if loop.peak_velocity_m_s < SLOW_M_S]
        return slow[0] if slow else None

    @cached_property
    def held(self) -> dict[str, tuple[HeldBack, ...]]:
        """Travel held back after each reversal, by direction, moving stages in the order they were run."""
        found = {d: [held_back(loop, self.damper, d) for loop in self.moving] for d in ("rebound", "compression")}
        return {d: tuple(h for h in stages if h is not None) for d, stages in found.items()}


@dataclass(frozen=True)
class Measure:
    """One measured value with its standard uncertainty, its limit, and the side of the limit that is faulty."""

    name: str
    value: float
    uncertainty: float
    unit: str
    limit: float
    basis: str
    faulty: Literal["above", "below"] = "above"

    @property
    def beyond(self) -> float:
        """Probability that the true value is on the faulty side of the limit."""
        excess = (self.value - self.limit) * (1 if self.faulty == "above" else -1)
        return normal_share(excess / max(self.uncertainty, 1e-12))

    @property
    def evidence(self) -> Evidence:
        half = 1.96 * self.uncertainty
        return Evidence(self.name, self.value, self.unit, self.limit, self.basis, self.value - half, self.value + half)


def finding(code: str, measures: list[Measure], sentence: str, stage_index: int | None = None) -> Finding | None:
    """A finding where every measure is beyond its limit; as sure as the least sure of them, a suspicion less."""
    sure = min(m.beyond for m in measures)
    level = level_of(sure)
    if level is None:
        return None
    likelihood = min(sure, 0.99) if level == "found" else SUSPECTED + SUSPICION_WORTH * (sure - SUSPECTED)
    return Finding(code, level, round(likelihood, 3), sentence, tuple(m.evidence for m in measures), stage_index)


def level_of(sure: float) -> Literal["found", "suspected"] | None:
    if sure >= FOUND:
        return "found"
    return "suspected" if sure >= SUSPECTED else None


def surest(found: list[Finding | None]) -> Finding | None:
    """The likeliest of several, for one code in two directions."""
    made = [f for f in found if f is not None]
    return max(made, key=lambda f: f.likelihood) if made else None
