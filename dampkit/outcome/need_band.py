"""Measured forces held against the band that the vehicle needs."""

from __future__ import annotations

import numpy as np

from dampkit.damper.reading import reading_at
from dampkit.damper.unit import Unit
from dampkit.expected.reference import Compared
from dampkit.needs.requirement import Need
from dampkit.quantities import DIRECTIONS

SPEEDS_M_S = (0.05, 0.1, 0.2, 0.3, 0.6, 1.0)  # usual test speeds [jaso_c602], with one more below the rated point


def against_need(unit: Unit, need: Need) -> tuple[Compared, ...]:
    """One point a speed and direction, up to the fastest that the need covers."""
    points = []
    for direction in DIRECTIONS:
        band = need.band(direction)
        for v in SPEEDS_M_S:
            if v <= float(need.velocity_m_s[-1]):
                wanted, low, high = (float(np.interp(v, need.velocity_m_s, edge)) for edge in band)
                points.append(Compared(direction, v, reading_at(v, unit, direction), wanted, low, high))
    return tuple(points)
