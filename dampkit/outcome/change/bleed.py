"""From an effective bleed area to a hole that a drill makes."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass


@dataclass(frozen=True)
class Hole:
    """`count` holes of `drill_mm`. `added`: beside what is there; otherwise in its place. Area effective, mm2."""

    drill_mm: float
    count: int
    added: bool
    area_mm2: float  # total effective bleed area that results


def effective_area_mm2(diameter_mm: float, discharge: float, count: int = 1) -> float:
    """C_d A of round holes. Source: [merritt1967] ch. 3, [rabie2009] eq. 2.39."""
    return discharge * count * 0.25 * math.pi * diameter_mm**2


def diameter_mm(effective_mm2: float, discharge: float, count: int = 1) -> float:
    """Diameter of each of `count` equal round holes with that effective area together."""
    return math.sqrt(4 * effective_mm2 / (math.pi * discharge * count))


def choose_hole(now_mm2: float, wanted_mm2: float, drills_mm: Sequence[float], discharge: float, count: int = 1) -> Hole:
    """The hole that comes closest to the effective area wanted.

    Where more is wanted, one hole added to what is there comes closer than a new one and cuts no metal twice; where
    less is wanted, the present bleed is closed and `count` holes are drilled. Source: own.
    """
    more = wanted_mm2 > now_mm2
    base, holes = (now_mm2, 1) if more else (0.0, count)
    made = [Hole(d, holes, more, base + effective_area_mm2(d, discharge, holes)) for d in drills_mm]
    if more:  # leaving it alone counts too: the smallest drill may be too much
        made.append(Hole(0.0, 0, True, now_mm2))
    return min(made, key=lambda hole: abs(hole.area_mm2 - wanted_mm2))
