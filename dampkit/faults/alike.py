"""Measure of a unit that is to be alike both ways: how much weaker one direction is than the other."""

from __future__ import annotations

from collections.abc import Iterator

from dampkit.expected.alike import LEAST_N, against_each_other
from dampkit.faults.finding import Measure
from dampkit.faults.under_test import UnderTest
from dampkit.quantities import DIRECTIONS, Z95


def alike_measures(test: UnderTest) -> Iterator[Measure]:
    """Force missing against the other direction, of what that makes, at the speed at which it is most beyond its doubt.

    Source: own; its limit is common practice.
    """
    share, points = test.facts.alike_share, against_each_other(test.unit, test.spec)
    if share is None or points is None:
        return
    for direction in DIRECTIONS:
        made = []
        for p in points:
            if p.direction == direction and p.measured_n is not None:
                other = max(p.wanted_n, LEAST_N)
                value, error = (p.wanted_n - p.measured_n.value) / other, p.measured_n.half_width / Z95 / other
                made.append(((value - share) / error if error else 0.0, value, error, p.velocity_m_s))
        if made:
            _, value, error, speed = max(made)
            yield Measure(
                "unlike", value, error, "", share, "common practice", direction=direction, velocity_m_s=speed
            )  # fmt: skip
