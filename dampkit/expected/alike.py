"""Both directions of a unit held against each other: a kind that is to be alike both ways, where no reference says more."""

from __future__ import annotations

from dampkit.damper.declared import DamperSpec
from dampkit.damper.kinds import facts_of
from dampkit.damper.points import SLOW_M_S
from dampkit.damper.reading import reading_at
from dampkit.damper.unit import Unit
from dampkit.expected.reference import Compared
from dampkit.quantities import DIRECTIONS, OTHER, Estimate

LEAST_N = 40.0  # forces under it are held to what that one may be off by; common practice, no source


def against_each_other(unit: Unit, spec: DamperSpec | None) -> tuple[Compared, ...] | None:
    """One point for each tested speed and direction: what the other direction reads there, and what this one may read so
    that the weaker is under the stronger by no more than its share.

    None where a reference is declared, or of a kind that need not be alike. How firm the unit should be, no comparison of
    it with itself can say.
    """
    share = None if spec is None or spec.reference is not None else facts_of(spec.damper.kind).alike_share
    if share is None or any(unit.side(d).reading is None for d in DIRECTIONS):
        return None
    found = []
    for direction in DIRECTIONS:
        own, other = unit.side(direction).reading, unit.side(OTHER[direction]).reading
        assert own is not None
        assert other is not None
        top = min(float(own.velocity_m_s[-1]), float(other.velocity_m_s[-1]))
        for v in (float(v) for v in own.velocity_m_s if SLOW_M_S <= v <= top):
            here, there = reading_at(v, unit, direction), reading_at(v, unit, OTHER[direction])
            if here is None or there is None:
                continue
            wide = max(there.value, LEAST_N)
            low, high = there.value - share * wide, there.value + share / (1.0 - share) * wide
            half = (here.half_width**2 + there.half_width**2) ** 0.5  # of the difference, which is what is judged
            read = Estimate(here.value, here.value - half, here.value + half)
            found.append(Compared(direction, v, read, there.value, max(low, 0.0), high))
    return tuple(found) or None
