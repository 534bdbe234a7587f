"""Two or more runs side by side: how far apart, how surely, and whether it matters."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from dampkit.damper.reading import reading_at
from dampkit.damper.take_up import each_once
from dampkit.damper.unit import Unit
from dampkit.damper.warmth import LIKE_K, WIDE_K, at_temperature, brought_to
from dampkit.expected.conformity import SURE, Answer, probability_within
from dampkit.frozen import frozen
from dampkit.outcome.decision_record import Action
from dampkit.quantities import DIRECTIONS, Z95, Direction, Estimate, median, number

# Of the mean of both: how far a left and a right unit of one axle may differ, from which they count as well matched, and
# at least so much. The archive of a car maker asks for attention at 10 % [testmemos1913]; the rest is common practice.
PAIR_PERCENT, GOOD_PERCENT = 10.0, 5.0
FLOOR_N = 25.0
UNKNOWN_K = 10.0  # how far apart two units of one day may be that no probe was on; common practice, no source
USUAL_C = 20.0
MEDIAN_SPREAD = 1.4826  # median absolute deviation to standard deviation, normal distribution
MEDIAN_ERROR = 1.2533  # standard error of a median over that of a mean, normal distribution


@frozen
class Tested:
    """One run. `worst_miss`: largest distance from its reference over the allowance; None without a reference."""

    name: str
    fit: Unit
    action: Action
    worst_miss: float | None = None


@frozen
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
    """At every speed that one of them was tested at and the other reaches, and at those named. Friction is in, gas out.

    The second is brought to the first one's temperature where they are not alike; where no probe was on one, what that
    may do is in the doubt. Both runs come from one bench, so its declared uncertainty falls out of the difference; what
    is left is each fit's own doubt, taken as independent. Source: [jcgm100] 5.1.2, [jcgm106].
    """
    first, second = _as_warm(first, second)
    out = []
    for way in DIRECTIONS:
        for v in speeds_run((first, second), way, speeds_m_s):
            a, b = (reading_at(v, fit, way) for fit in (first, second))
            if a is not None and b is not None:
                made = _difference(way, v, _doubtful(a, v, first, second, way), b, percent)
                out.append(made if _established(first) and _established(second) else _open(made))
    return tuple(out)


def speeds_run(units: Sequence[Unit], way: Direction, more_m_s: Sequence[float] = ()) -> tuple[float, ...]:
    """The speeds that any of the units was tested at in a direction, and those named, each once, slowest first."""
    read = [unit.side(way).reading for unit in units]
    return tuple(each_once([*more_m_s, *(float(v) for r in read if r is not None for v in r.velocity_m_s)]))


def _as_warm(first: Unit, second: Unit) -> tuple[Unit, Unit]:
    if first.temperature_c is None or second.temperature_c is None:
        return first, second
    wide = max(first.temperature_span_k, second.temperature_span_k) > WIDE_K
    if abs(first.temperature_c - second.temperature_c) <= LIKE_K and not wide:
        return first, second
    return brought_to(first, first.temperature_c), brought_to(second, first.temperature_c)


def _doubtful(read: Estimate, v: float, first: Unit, second: Unit, way: Direction) -> Estimate:
    """A reading with what UNKNOWN_K may do to it, where one of the two temperatures is not known."""
    law = first.side(way).law
    if law is None or (first.temperature_c is not None and second.temperature_c is not None):
        return read
    cold, warm = (
        at_temperature(law.valve, USUAL_C, to_c, first.oil).force(np.array([v]))
        for to_c in (USUAL_C, USUAL_C + UNKNOWN_K)
    )
    half = math.hypot(read.half_width, float((cold - warm)[0]))
    return Estimate(read.value, read.value - half, read.value + half)


def _established(unit: Unit) -> bool:
    """Whether what lies between the tested speeds is known: of a friction damper, or by laws that settled."""
    return unit.sliding is not None or all(s.law is not None and s.law.converged for s in unit.sides)


def _open(found: Difference) -> Difference:
    return replace(found, answer="not established") if found.answer == "in" else found


def matched(found: Sequence[Difference], bad_data: bool = False) -> Answer:
    """Out where one difference surely matters; in only where every one surely does not, there is one in each direction,
    and nothing stands against the data.
    """
    if any(d.answer == "out" for d in found):
        return "out"
    both = {d.direction for d in found} == set(DIRECTIONS)
    return "in" if both and not bad_data and all(d.answer == "in" for d in found) else "not established"


def well_matched(found: Sequence[Difference]) -> bool:
    """Every difference within what counts as good."""
    return all(abs(d.gap_percent) <= GOOD_PERCENT or abs(d.gap_n.value) <= FLOOR_N for d in found)


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
        for v in speeds_run(units, way, speeds_m_s):
            own = reading_at(v, units[index], way)
            others = [
                r.value for i, fit in enumerate(units) if i != index and (r := reading_at(v, fit, way)) is not None
            ]
            if own is None or len(others) < 2:
                continue
            middle = median(others)
            spread = MEDIAN_SPREAD * median(np.abs(np.array(others) - middle))
            half = Z95 * MEDIAN_ERROR * spread / math.sqrt(len(others))
            out.append(_difference(way, v, own, Estimate(middle, middle - half, middle + half), percent))
    return tuple(out)


def _difference(way: Direction, v: float, a: Estimate, b: Estimate, percent: float) -> Difference:
    gap = a.value - b.value
    half = math.hypot(a.half_width, b.half_width)
    allowed = max(0.01 * percent * 0.5 * (a.value + b.value), FLOOR_N)
    inside = probability_within(gap, half / Z95, -allowed, allowed)
    answer: Answer = "in" if inside >= SURE else "out" if inside <= 1 - SURE else "not established"
    return Difference(
        way, v, a.value, b.value, Estimate(gap, gap - half, gap + half), allowed, abs(gap) > half, answer, inside
    )  # fmt: skip
