"""A force-velocity law over one harmonic cycle: the viscous damper that takes as much energy."""

from __future__ import annotations

import numpy as np

from dampkit.quantities import Array

ANGLES = 201  # over a quarter of a cycle


def cycle_damping(peak_m_s: float, velocity_m_s: Array, force_n: Array) -> float:
    """c_eq of a half cycle, N s/m: integral of F v dt over integral of v^2 dt, v = V cos(angle).

    The law is read straight between its points (K,), which must reach `peak_m_s` and start at or near standstill.
    Source: [rao] ch. 3 (equivalent viscous damping).
    """
    angle = (np.arange(ANGLES) + 0.5) * (0.5 * np.pi / ANGLES)  # midpoint rule
    v = peak_m_s * np.cos(angle)
    force = np.interp(v, velocity_m_s, force_n)
    return float(force @ v / (v @ v))
