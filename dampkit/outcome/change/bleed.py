"""From an effective bleed area to a hole that a drill makes."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations_with_replacement

CLOSE = 0.02  # share of the area wanted, well inside what a drill itself scatters; own choice


@dataclass(frozen=True)
class Hole:
    """One hole of each size in `drills_mm`. `added`: beside what is there; otherwise in its place. Area effective, mm2."""

    drills_mm: tuple[float, ...]
    added: bool
    area_mm2: float  # total effective bleed area that results


def effective_area_mm2(diameter_mm: float, discharge: float, count: int = 1) -> float:
    """C_d A of round holes. Source: [merritt1967] ch. 3, [rabie2009] eq. 2.39."""
    return discharge * count * 0.25 * math.pi * diameter_mm**2


def diameter_mm(effective_mm2: float, discharge: float, count: int = 1) -> float:
    """Diameter of each of `count` equal round holes with that effective area together."""
    return math.sqrt(4 * effective_mm2 / (math.pi * discharge * count))


def choose_hole(now_mm2: float, wanted_mm2: float, drills_mm: Sequence[float], discharge: float, most: int = 2) -> Hole:
    """The hole, or up to `most` of them, that comes close enough to the effective area wanted.

    Fewest holes first, and holes added to what is there before closing it and drilling anew; the first that is within
    CLOSE of the area wanted, else the closest of all. Source: own.
    """
    made = [Hole((), True, now_mm2)]
    for count in range(1, most + 1):
        for drills in combinations_with_replacement(sorted(drills_mm), count):
            area = sum(effective_area_mm2(d, discharge) for d in drills)
            made += [Hole(drills, True, now_mm2 + area), Hole(drills, False, area)]
    off = {hole: abs(hole.area_mm2 / wanted_mm2 - 1) for hole in made}
    near = [hole for hole in made if off[hole] <= CLOSE]
    if near:
        return min(near, key=lambda hole: (len(hole.drills_mm), not hole.added, off[hole]))
    return min(made, key=lambda hole: off[hole])
