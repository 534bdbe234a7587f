"""Expected cost of each course, how sure it is, where two courses break even, and what would flip the choice."""

from __future__ import annotations

import math
from collections.abc import Mapping

from dampkit.frozen import frozen
from dampkit.outcome.costs import CostSpec, CourseName, CourseSpec
from dampkit.outcome.decision_record import FlipRecord
from dampkit.quantities import Estimate

Inputs = Mapping[str, float]
REPLACEMENTS: tuple[CourseName, ...] = ("new", "exchange")
FIELDS = ("hours", "parts", "machining", "price", "comeback_probability", "comeback_cost", "fails_probability")
RATE = "labour.rate_per_hour"
STEP = 1e-4  # of an input, for its effect on a cost


@frozen
class ThreePoint:
    """One number of costs.toml; low, likely and high are equal where a single number was given."""

    low: float
    likely: float
    high: float

    @property
    def mean(self) -> float:
        """(low + 4 likely + high) / 6. Source: [malcolm1959]."""
        return (self.low + 4 * self.likely + self.high) / 6

    @property
    def deviation(self) -> float:
        """(high - low) / 6. Source: [malcolm1959]."""
        return (self.high - self.low) / 6


@frozen
class Weighed:
    """`expected`: mean cost with the 95 % interval of that mean; what one job costs scatters by `scatter` besides."""

    course: CourseName
    expected: Estimate
    scatter: float


def inputs(spec: CostSpec) -> dict[str, ThreePoint]:
    """Every number of the file by name, `labour.rate_per_hour`, `rebuild.hours`, ..."""
    found = {RATE: _point(spec.labour.rate_per_hour)}
    for name, course in spec.given.items():
        found |= {f"{name}.{field}": _point(getattr(course, field)) for field in FIELDS if _given(course, field)}
    return found


def weigh(spec: CostSpec) -> tuple[Weighed, ...]:
    """Every course that has a table, cheapest first. The interval is first-order, all inputs independent.

    Source: [jcgm100] 5.1.2 for the interval; expected cost from the mean of a two-way chance.
    """
    points = inputs(spec)
    means = {name: p.mean for name, p in points.items()}
    out = []
    for course in spec.given:
        cost = expected_cost(course, means, spec)
        doubt = math.sqrt(sum((_slope(course, name, means, spec) * p.deviation) ** 2 for name, p in points.items()))
        out.append(Weighed(course, Estimate.from_standard_error(cost, doubt), _scatter(course, means, spec)))
    return tuple(sorted(out, key=lambda w: w.expected.value))


def expected_cost(course: CourseName, at: Inputs, spec: CostSpec) -> float:
    """Outlay, plus a come-back by its probability, plus replacement by the probability that the work is impossible."""
    outlay = _outlay(course, at)
    again = at.get(f"{course}.comeback_cost", outlay)
    fails = at[f"{course}.fails_probability"]
    return outlay + (1 - fails) * at[f"{course}.comeback_probability"] * again + fails * _instead(course, at, spec)


def difference(a: CourseName, b: CourseName, spec: CostSpec) -> Estimate:
    """Expected cost of `a` less that of `b`, with what both share (the labour rate) counted once."""
    points = inputs(spec)
    means = {name: p.mean for name, p in points.items()}
    gap = expected_cost(a, means, spec) - expected_cost(b, means, spec)
    slopes = ((_slope(a, n, means, spec) - _slope(b, n, means, spec)) * p.deviation for n, p in points.items())
    return Estimate.from_standard_error(gap, math.sqrt(sum(s * s for s in slopes)))


def flips(a: CourseName, b: CourseName, spec: CostSpec) -> tuple[FlipRecord, ...]:
    """For each input: where it makes both courses cost the same, the others at their means; nearest first.

    Costs are straight lines in every single input, so the break-even is exact. Values that cannot be (below nothing, a
    probability above 1) are left out.
    """
    points = inputs(spec)
    means = {name: p.mean for name, p in points.items()}
    gap = expected_cost(a, means, spec) - expected_cost(b, means, spec)
    found = []
    for name, p in points.items():
        slope = _slope(a, name, means, spec) - _slope(b, name, means, spec)
        if abs(slope) < 1e-12:
            continue
        at = p.mean - gap / slope
        if at >= 0 and not (name.endswith("probability") and at > 1):
            inside = p.low <= at <= p.high
            found.append(FlipRecord(name=name, now=p.mean, breaks_even=at, within_declared_range=inside))
    return tuple(sorted(found, key=lambda f: abs(f.breaks_even - f.now) / max(f.now, 1e-9)))


def _outlay(course: CourseName, at: Inputs) -> float:
    own = sum(at[f"{course}.{name}"] for name in ("parts", "machining", "price"))
    return at[RATE] * at[f"{course}.hours"] + own


def _instead(course: CourseName, at: Inputs, spec: CostSpec) -> float:
    """The cheapest replacement that has a table; nothing where there is none."""
    others = [_outlay(name, at) for name in REPLACEMENTS if name in spec.given and name != course]
    return min(others, default=0.0)


def _scatter(course: CourseName, at: Inputs, spec: CostSpec) -> float:
    """Standard deviation of what a single job costs, by its two chances."""
    again = at.get(f"{course}.comeback_cost", _outlay(course, at))
    fails = at[f"{course}.fails_probability"]
    back = (1 - fails) * at[f"{course}.comeback_probability"]
    instead = _instead(course, at, spec)
    mean = back * again + fails * instead
    return math.sqrt(max(0.0, back * again**2 + fails * instead**2 - mean**2))


def _slope(course: CourseName, name: str, means: Inputs, spec: CostSpec) -> float:
    step = STEP * max(1.0, means[name])
    up, down = ({**means, name: means[name] + s} for s in (step, -step))
    return (expected_cost(course, up, spec) - expected_cost(course, down, spec)) / (2 * step)


def _given(course: CourseSpec, field: str) -> bool:
    return getattr(course, field) is not None


def _point(value: float | tuple[float, float, float]) -> ThreePoint:
    return ThreePoint(*value) if isinstance(value, tuple) else ThreePoint(value, value, value)
