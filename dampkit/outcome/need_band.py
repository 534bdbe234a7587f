"""Measured forces held against the band that the vehicle needs."""

from __future__ import annotations

from typing import TYPE_CHECKING, get_args

import numpy as np

from dampkit.damper.fitted import DamperFit, ValveFit
from dampkit.needs.requirement import Need
from dampkit.outcome.conformity import judge
from dampkit.outcome.reference import Direction, reading_at
from dampkit.outcome.result import ReferencePoint

if TYPE_CHECKING:
    from dampkit.bench.run import Run

SPEEDS_M_S = (0.05, 0.1, 0.2, 0.3, 0.6, 1.0)  # usual test speeds [jaso_c602], with one more below the rated point


def against_need(fit: DamperFit, need: Need, run: Run | None = None) -> tuple[ReferencePoint, ...]:
    """One point a speed and direction, up to the fastest that the need covers; beyond the test not established."""
    points = []
    for way in get_args(Direction):
        valve: ValveFit | None = getattr(fit, way)
        for v in SPEEDS_M_S:
            if v > float(need.velocity_m_s[-1]):
                continue
            wanted, low, high = (
                float(np.interp(v, need.velocity_m_s, getattr(need, f"{way}_{end}n"))) for end in ("", "low_", "high_")
            )
            measured = reading_at(v, valve, fit.friction_force_n, run)
            points.append(
                ReferencePoint(
                    direction=way,
                    velocity_m_s=v,
                    measured_n=None if measured is None else measured.value,
                    measured_low_n=None if measured is None else measured.low,
                    measured_high_n=None if measured is None else measured.high,
                    reference_n=wanted,
                    low_n=low,
                    high_n=high,
                    answer="not established" if measured is None else judge(measured, low, high).answer,
                )
            )
    return tuple(points)
