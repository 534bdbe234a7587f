"""Two or more runs side by side: how far apart, how surely, and whether it matters."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from dampkit.damper.reading import reading_at
from dampkit.damper.unit import Unit
from dampkit.expected.conformity import SURE, Answer, probability_within
from dampkit.outcome.result import Action
from dampkit.quantities import DIRECTIONS, Z95, Direction, Estimate, number

PAIR_PERCENT = 15.0  # of the mean of both: how far a left and a right unit may differ; common practice, no source
FLOOR_N = 25.0  # and at least so much; common practice, no source
MEDIAN_SPREAD = 1.4826  # median absolute deviation to standard deviation, normal distribution
MEDIAN_ERROR = 1.2533  # standard error of a median over that of a mean, normal distribution


@dataclass(frozen=True)
class Tested:
    """One run. `worst_miss`: largest distance from its reference over the allowance; None without a reference."""

    name: str
    fit: Unit
    action: Action
    worst_miss: float | None = None


@dataclass(frozen=True)
class Difference:
    """At one speed, N. `significant`: the measurement is fine enough to see it. `answer`: is it within the allowance?"""

    direction: Direction
    velocity_m_s: float
    first_n: float
    second_n: float
    gap_n: Estimate  # first less second
    allowed_n: float
    significant: bool
    answer: Answer
    probability: float

    @property
    def gap_percent(self) -> float:
        return 100 * self.gap_n.value / max(0.5 * (self.first_n + self.second_n), 1e-9)


def differences(
    first: Unit, second: Unit, speeds_m_s: Sequence[float], percent: float = PAIR_PERCENT
) -> tuple[Difference, ...]:
    """At each speed that both were tested at. Friction is in, gas out.

    Both runs come from one bench, so its declared uncertainty falls out of the difference; what is left is each fit's
    own doubt, taken as independent. Source: [jcgm100] 5.1.2, [jcgm106].
    """
    out = []
    for way in DIRECTIONS:
        for v in speeds_m_s:
            a, b = (_reading(fit, way, v) for fit in (first, second))
            if a is not None and b is not None:
                out.append(_difference(way, v, a, b, percent))
    return tuple(out)


def matched(found: Sequence[Difference]) -> Answer:
    """Out where one difference surely matters; in only where every one surely does not, and there is one."""
    if any(d.answer == "out" for d in found):
        return "out"
    return "in" if found and all(d.answer == "in" for d in found) else "not established"


def which_to_change(first: Tested, second: Tested, found: Sequence[Difference]) -> str:
    """A sentence: the one further from its reference, else the one with something against it; else it cannot be said."""
    if matched(found) != "out":
        return "Neither has to be changed for the other's sake."
    if first.worst_miss is not None and second.worst_miss is not None:
        worse = first if first.worst_miss > second.worst_miss else second
        return f"Change {worse.name}: it is further from the reference."
    against = [u for u in (first, second) if u.action in ("rebuild", "replace")]
    if len(against) == 1:
        return f"Change {against[0].name}: its own verdict is {against[0].action}."
    gap = float(np.mean([d.gap_percent for d in found]))
    weaker = first if gap < 0 else second
    return f"{weaker.name} is the weaker by {number(abs(gap), 2)} % on average; without a reference it is not known which is right."


def against_others(
    units: Sequence[Unit], index: int, speeds_m_s: Sequence[float], percent: float
) -> tuple[Difference, ...]:
    """One unit of a batch (three or more) held against the median of the others.

    The doubt of that median comes from the scatter of the others, by their median deviation, so that another odd unit
    among them does not hide anything. Source: own.
    """
    out = []
    for way in DIRECTIONS:
        for v in speeds_m_s:
            own = _reading(units[index], way, v)
            others = [r.value for i, fit in enumerate(units) if i != index and (r := _reading(fit, way, v)) is not None]
            if own is None or len(others) < 2:
                continue
            middle = float(np.median(others))
            spread = MEDIAN_SPREAD * float(np.median(np.abs(np.array(others) - middle)))
            half = Z95 * MEDIAN_ERROR * spread / math.sqrt(len(others))
            out.append(_difference(way, v, own, Estimate(middle, middle - half, middle + half), percent))
    return tuple(out)


def _reading(fit: Unit, way: Direction, v: float) -> Estimate | None:
    return reading_at(v, fit, way)


def _difference(way: Direction, v: float, a: Estimate, b: Estimate, percent: float) -> Difference:
    gap = a.value - b.value
    half = math.hypot(a.half_width, b.half_width)
    allowed = max(0.01 * percent * 0.5 * (a.value + b.value), FLOOR_N)
    inside = probability_within(gap, half / Z95, -allowed, allowed)
    answer: Answer = "in" if inside >= SURE else "out" if inside <= 1 - SURE else "not established"
    return Difference(
        way, v, a.value, b.value, Estimate(gap, gap - half, gap + half), allowed, abs(gap) > half, answer, inside
    )  # fmt: skip
