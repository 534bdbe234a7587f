"""Travel that goes into anything but the valve: lost motion at each reversal, and the spring in series."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from dampkit.curves.loop import Loop
from dampkit.damper.fit import JointFit
from dampkit.damper.points import SLOW_M_S
from dampkit.damper.start import SIGN
from dampkit.quantities import Z95, Array, Estimate

TAKEN_UP = 0.2  # share of the half-stroke's peak force at which the damper has taken up: lost motion ends
HALF = 0.5
MEDIAN_SPREAD = 1.4826  # median absolute deviation to standard deviation, normal distribution
MEDIAN_ERROR = 1.2533  # standard error of a median over that of a mean, normal distribution


@dataclass(frozen=True)
class TakeUp:
    """How one stage takes up after the reversal into a direction.

    `lost_m`, `half_m`: travel from the reversal to 20 % and to 50 % of the peak force that the fitted valve makes at this
    stage, beyond the travel at which the valve alone would have it there; negative where the force is there sooner.
    `travel_m`, `force_n`, `law_n`: from the reversal to mid-stroke, shape (P/4 + 1,), force hydraulic and positive.
    """

    stage: int
    peak_velocity_m_s: float
    lost_m: float
    half_m: float
    travel_m: Array
    force_n: Array
    law_n: Array


def take_ups(loops: tuple[Loop, ...], joint: JointFit, direction: str) -> tuple[TakeUp, ...]:
    """The take-up of every moving stage in one direction."""
    return tuple(_take_up(loop, joint, direction) for loop in loops if loop.peak_velocity_m_s >= SLOW_M_S)


def lost_motion(found: tuple[TakeUp, ...]) -> Estimate | None:
    """Lost motion [mm]: median over the stages, with the spread of the stages as interval; None with fewer than two.

    Source: own; checked on the virtual bench with known voids and play.
    """
    lost = np.array([t.lost_m for t in found])
    if lost.size < 2:
        return None
    middle = float(np.median(lost))
    spread = MEDIAN_SPREAD * float(np.median(np.abs(lost - middle)))
    return Estimate.from_standard_error(1e3 * middle, 1e3 * MEDIAN_ERROR * spread / np.sqrt(lost.size))


def series_stiffness(joint: JointFit, spread: Array) -> Estimate | None:
    """Stiffness in series with the valve [N/m], from the direction in which it is known better."""
    known = []
    for direction in SIGN:
        name = f"{direction}.compliance"
        i = joint.model.free.index(name)
        value, error = float(joint.fit.parameters[i]), float(np.sqrt(spread[i, i]))
        if error > 0 and value - Z95 * error > 0:
            known.append((error / value, Estimate(1 / value, 1 / (value + Z95 * error), 1 / (value - Z95 * error))))
    return min(known, key=lambda k: k[0])[1] if known else None


def hydraulic_force_n(loop: Loop, joint: JointFit, direction: str) -> Array:
    """The loop's force with gas and friction taken out, positive where it resists the direction; shape (P,)."""
    v = joint.values
    friction = v["friction_n"] * np.tanh(loop.velocity_m_s / v["friction_speed_m_s"])
    gas = -v["gas_n"] + v["gas_n_m"] * loop.displacement_m
    return np.asarray(SIGN[direction] * (loop.mean_force_n - gas - friction))


def _take_up(loop: Loop, joint: JointFit, direction: str) -> TakeUp:
    speed = SIGN[direction] * loop.velocity_m_s
    begin = int(np.flatnonzero((speed > 0) & (np.roll(speed, 1) <= 0))[0])
    rows = np.arange(begin - 1, begin + speed.size // 4) % speed.size
    travel = np.abs(loop.displacement_m[rows] - loop.displacement_m[rows[0]])
    force = hydraulic_force_n(loop, joint, direction)[rows]
    law = joint.model.valve(joint.fit.parameters, direction).force(np.maximum(speed[rows], 0.0))
    lost, half = (
        _travel_to(travel, force, share * law.max()) - _travel_to(travel, law, share * law.max())
        for share in (TAKEN_UP, HALF)
    )
    return TakeUp(loop.stage.index, loop.peak_velocity_m_s, lost, half, travel, force, law)


def _travel_to(travel: Array, force: Array, level_n: float) -> float:
    """Travel at which the force goes above a level for good."""
    below = np.flatnonzero(force < level_n)
    return float(travel[below[-1]]) if below.size else 0.0
