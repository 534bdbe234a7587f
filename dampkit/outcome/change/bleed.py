"""From an effective bleed area to a hole that a drill makes."""

from __future__ import annotations

import math
from collections.abc import Sequence

from dampkit.frozen import frozen

# Number drills 1 to 80, inches: ASME B94.11M, from memory
NUMBER_DRILLS_IN = (
    0.2280, 0.2210, 0.2130, 0.2090, 0.2055, 0.2040, 0.2010, 0.1990, 0.1960, 0.1935, 0.1910, 0.1890, 0.1850, 0.1820, 0.1800,
    0.1770, 0.1730, 0.1695, 0.1660, 0.1610, 0.1590, 0.1570, 0.1540, 0.1520, 0.1495, 0.1470, 0.1440, 0.1405, 0.1360, 0.1285,
    0.1200, 0.1160, 0.1130, 0.1110, 0.1100, 0.1065, 0.1040, 0.1015, 0.0995, 0.0980, 0.0960, 0.0935, 0.0890, 0.0860, 0.0820,
    0.0810, 0.0785, 0.0760, 0.0730, 0.0700, 0.0670, 0.0635, 0.0595, 0.0550, 0.0520, 0.0465, 0.0430, 0.0420, 0.0410, 0.0400,
    0.0390, 0.0380, 0.0370, 0.0360, 0.0350, 0.0330, 0.0320, 0.0310, 0.0292, 0.0280, 0.0260, 0.0250, 0.0240, 0.0225, 0.0210,
    0.0200, 0.0180, 0.0160, 0.0145, 0.0135,
)  # fmt: skip
LEAST_DRILL_MM = 0.5  # a thinner twist drill breaks in steel and its hole clogs; common practice, no source
CLOSE = 0.02  # share of the area wanted, well inside what a drill itself scatters; own choice


@frozen
class Hole:
    """Equal holes of the sizes in `drills_mm`. `added`: beside what is there; otherwise in its place. Area effective, mm2."""

    drills_mm: tuple[float, ...]
    added: bool
    area_mm2: float  # total effective bleed area that results


def inch_drills() -> dict[float, str]:
    """Diameter, mm, to the name of the drill: numbers and sixty-fourths of an inch up to 13/64, none below LEAST_DRILL_MM."""
    sixty_fourths = {n / 64: f"{n // math.gcd(n, 64)}/{64 // math.gcd(n, 64)} in" for n in range(1, 14)}
    numbers = {inch: f"No. {n}" for n, inch in enumerate(NUMBER_DRILLS_IN, start=1) if inch <= 13 / 64}
    named = sorted({**sixty_fourths, **numbers}.items())
    return {round(25.4 * inch, 3): name for inch, name in named if 25.4 * inch >= LEAST_DRILL_MM}


def effective_area_mm2(diameter_mm: float, discharge: float, count: int = 1) -> float:
    """C_d A of round holes. Source: [merritt1967] ch. 3, [rabie2009] eq. 2.39."""
    return discharge * count * 0.25 * math.pi * diameter_mm**2


def diameter_mm(effective_mm2: float, discharge: float, count: int = 1) -> float:
    """Diameter of each of `count` equal round holes with that effective area together."""
    return math.sqrt(4 * effective_mm2 / (math.pi * discharge * count))


def choose_hole(now_mm2: float, wanted_mm2: float, drills_mm: Sequence[float], discharge: float, most: int = 2) -> Hole:
    """The hole, or up to `most` equal ones, that comes close enough to the effective area wanted.

    Fewest holes first, and holes added to what is there before closing it and drilling anew; the first that is within
    CLOSE of the area wanted, else the closest of all. Source: own.
    """
    made = [Hole((), True, now_mm2)]
    for count in range(1, most + 1):
        for drills in ((d,) * count for d in sorted(drills_mm)):
            area = sum(effective_area_mm2(d, discharge) for d in drills)
            made += [Hole(drills, True, now_mm2 + area), Hole(drills, False, area)]
    off = {hole: abs(hole.area_mm2 / wanted_mm2 - 1) for hole in made}
    near = [hole for hole in made if off[hole] <= CLOSE]
    if near:
        return min(near, key=lambda hole: (len(hole.drills_mm), not hole.added, off[hole]))
    return min(made, key=lambda hole: off[hole])
