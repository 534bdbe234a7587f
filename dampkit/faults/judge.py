"""A measure against its limit: found, suspected or nothing, by how sure the data make it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from scipy.special import ndtr

from dampkit.curves.loop import Curves
from dampkit.damper.declared import DamperSpec
from dampkit.damper.fitted import DamperFit
from dampkit.faults.finding import Evidence, Finding

FOUND = 0.95  # probability of being beyond the limit from which a fault is found ...
SUSPECTED = 0.5  # ... and from which it is suspected; [jcgm106] 8.3 for the idea of a guard band


@dataclass(frozen=True)
class Case:
    """All that a signature may look at."""

    curves: Curves
    damper: DamperFit
    spec: DamperSpec | None


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
        return float(ndtr(excess / max(self.uncertainty, 1e-12)))

    @property
    def evidence(self) -> Evidence:
        return Evidence(self.name, self.value, self.unit, self.limit, self.basis)


def finding(code: str, measures: list[Measure], sentence: str, stage_index: int | None = None) -> Finding | None:
    """A finding where every measure is beyond its limit; as sure as the least sure of them."""
    sure = min(m.beyond for m in measures)
    level = level_of(sure)
    if level is None:
        return None
    return Finding(code, level, round(min(sure, 0.99), 3), sentence, tuple(m.evidence for m in measures), stage_index)


def level_of(sure: float) -> Literal["found", "suspected"] | None:
    if sure >= FOUND:
        return "found"
    return "suspected" if sure >= SUSPECTED else None
