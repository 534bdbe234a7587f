"""Travel after a reversal that did not go through the valve: where gas, voids, play and springs show in millimetres."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from dampkit.curves.loop import Loop
from dampkit.damper.fitted import DamperFit, ValveFit
from dampkit.damper.points import SLOW_M_S, smoothed
from dampkit.quantities import Array

SIGN = {"rebound": 1.0, "compression": -1.0}
SHORT = 4  # points short of mid-stroke, where one cycle ends and the next begins
TAKEN_UP, HALF, EARLY = 0.9, 0.5, 0.2  # shares of the force at mid-stroke at which the travel is read


@dataclass(frozen=True)
class HeldBack:
    """One stage and direction. Arrays run from the reversal to mid-stroke; `held_m` is travel less flow through the valve.

    `at_m`, `early_m`: held-back travel where the force first comes up to 90 % and to 20 % of what the fitted valve (or,
    if less, the unit) makes at mid-stroke; `half_m`: travel to half of the valve's force, beyond the valve's own.
    `wanted_share`: force at mid-stroke over what the fitted valve makes there, `law_n`.
    """

    stage: int
    peak_velocity_m_s: float
    at_m: float
    early_m: float
    half_m: float
    wanted_share: float
    law_n: float
    travel_m: Array
    force_n: Array
    held_m: Array


def held_back(loop: Loop, damper: DamperFit, direction: str, force_n: Array | None = None) -> HeldBack | None:
    """Travel held back after the reversal into a direction, from the mean loop or from one cycle's force (P,).

    e = x - x_reversal - integral of v(F) dt: what the fitted valve did not pass at the measured force went into gas,
    a void, play or a spring. Nothing is assumed of its shape. None without a valve fit or for a slow pass.
    Source: own, from the continuity of oil between piston and valve, [merritt1967] ch. 3.
    """
    fit: ValveFit | None = getattr(damper, direction)
    if fit is None or loop.peak_velocity_m_s < SLOW_M_S:
        return None
    sign = SIGN[direction]
    speed = sign * loop.velocity_m_s
    begin = int(np.flatnonzero((speed > 0) & (np.roll(speed, 1) <= 0))[0])
    rows = np.arange(begin - 1, begin + speed.size // 4 - SHORT) % speed.size
    travel = np.abs(loop.displacement_m[rows] - loop.displacement_m[rows[0]])
    force = hydraulic_n(loop, damper, direction, force_n)[rows]
    passed = _passed_m_s(fit, force)
    step = loop.period_s / speed.size
    through = np.concatenate([[0.0], np.cumsum(0.5 * step * (passed[1:] + passed[:-1]))])
    held = travel - through
    law = np.asarray(fit.valve.force(np.maximum(speed[rows], 0.0)))
    top = float(np.median(force[-6:]))
    share = top / max(float(law[-1]), 1e-9)
    reached = {s: _first_above(force, s * (law[-1] if s == EARLY else top)) for s in (EARLY, TAKEN_UP)}
    half = _travel_to(travel, force, HALF * law[-1]) - _travel_to(travel, law, HALF * law[-1])
    least = float(held.min(initial=0.0))
    return HeldBack(
        loop.stage.index,
        loop.peak_velocity_m_s,
        float(held[reached[TAKEN_UP]]) - least,
        float(held[reached[EARLY]]) - least,
        half,
        share,
        float(law[-1]),
        travel,
        force,
        held,
    )


def _first_above(force: Array, level_n: float) -> int:
    above = force >= max(level_n, 0.0)
    above[:2] = False  # the turn itself may hold a leftover of the stroke before
    return int(np.argmax(above)) if above.any() else force.size - 1


def _travel_to(travel: Array, force: Array, level_n: float) -> float:
    """Travel at which the force goes above a level for good, or all of it where it never does."""
    below = np.flatnonzero(force < level_n)
    return float(travel[below[-1]]) if below.size else 0.0


def hydraulic_n(loop: Loop, damper: DamperFit, direction: str, force_n: Array | None = None) -> Array:
    """Force with gas and friction taken out, positive where it resists the direction, smoothed; shape (P,)."""
    gas = 0.0 if damper.gas_force_n is None else damper.gas_force_n.value
    friction = 0.0 if damper.friction_force_n is None else damper.friction_force_n.value
    spring = (damper.gas_stiffness_n_m or 0.0) * loop.displacement_m
    force = smoothed(loop.mean_force_n if force_n is None else force_n)
    return np.asarray(SIGN[direction] * (force + gas - spring) - friction)


def _passed_m_s(fit: ValveFit, force_n: Array) -> Array:
    """Speed at which the fitted valve makes a force: by its curve, straight beyond its end."""
    speed, force = fit.velocity_m_s, fit.force_n
    beyond = (speed[-1] - speed[-4]) / max(force[-1] - force[-4], 1e-9)
    root = np.interp(np.sqrt(np.maximum(force_n, 0.0)), np.sqrt(np.maximum(force, 0.0)), speed)
    return np.asarray(root + np.maximum(force_n - force[-1], 0.0) * beyond)
