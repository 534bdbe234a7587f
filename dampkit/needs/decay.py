"""Damping from how quickly a swing dies out, and the share that dry friction adds."""

from __future__ import annotations

import math

from dampkit.needs.corner import Corner


def log_decrement(first: float, later: float, swings: float) -> float:
    """ln(first/later) over the number of whole swings between them; half swings count 0.5. Source: [rao] ch. 2."""
    return math.log(first / later) / swings


def ratio_from_decrement(decrement: float) -> float:
    """Damping ratio delta / sqrt(4 pi^2 + delta^2), for viscous damping. Source: [rao] ch. 2."""
    return decrement / math.hypot(2 * math.pi, decrement)


def decrement_from_ratio(ratio: float) -> float:
    """2 pi zeta / sqrt(1 - zeta^2), for a ratio below 1. Source: [rao] ch. 2."""
    return 2 * math.pi * ratio / math.sqrt(1 - ratio**2)


def friction_ratio(corner: Corner, friction_n: float, amplitude_m: float) -> float:
    """Damping ratio that dry friction at the wheel adds when the body swings by so much: 4 F/(pi omega X) of critical.

    It is large for small swings: leaf friction can hide a dead damper when a car is pushed down by hand.
    Source: [rao] ch. 3 (Coulomb equivalent).
    """
    omega = 2 * math.pi * corner.modes().body_frequency_hz
    return 4 * friction_n / (math.pi * omega * amplitude_m) / corner.critical_damping_n_s_m
