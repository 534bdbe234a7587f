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
    `speed_m_s`: at the first; an error of the channel delay moves the loss by so much for each second.
    `reading_m`: standard uncertainty of reading the first off a loop, from its points, the resolution and the noise.
    `travel_m`, `force_n`, `law_n`: from the reversal to mid-stroke, shape (P/4 + 1,), force hydraulic and positive.
    """

    stage: int
    peak_velocity_m_s: float
    lost_m: float
    half_m: float
    speed_m_s: float
    reading_m: float
    travel_m: Array
    force_n: Array
    law_n: Array


def take_ups(loops: tuple[Loop, ...], joint: JointFit, direction: str, resolution_m: float) -> tuple[TakeUp, ...]:
    """The take-up of every moving stage in one direction; `resolution_m` of the displacement channel."""
    moving = (loop for loop in loops if loop.peak_velocity_m_s >= SLOW_M_S)
    return tuple(_take_up(loop, joint, direction, resolution_m) for loop in moving)


def lost_motion(found: tuple[TakeUp, ...], delay_error_s: float) -> Estimate | None:
    """Lost motion [mm]: median over the stages; None with fewer than two.

    The interval holds the spread of the stages, the reading and the standard uncertainty of the channel delay.

    Source: own; checked on the virtual bench with known voids and play.
    """
    lost = np.array([t.lost_m for t in found])
    if lost.size < 2:
        return None
    middle = float(np.median(lost))
    spread = MEDIAN_SPREAD * float(np.median(np.abs(lost - middle)))
    reading = float(np.median([t.reading_m for t in found]))
    late = delay_error_s * float(np.median([t.speed_m_s for t in found]))
    error = float(np.linalg.norm([MEDIAN_ERROR * spread / np.sqrt(lost.size), reading, late]))
    return Estimate.from_standard_error(1e3 * middle, 1e3 * error)


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
    """The loop's force with gas, friction, moving mass and delay taken out, positive where it resists; shape (P,)."""
    v = joint.values
    friction = v["friction_n"] * np.tanh(loop.velocity_m_s / v["friction_speed_m_s"])
    gas = -v["gas_n"] + v["gas_n_m"] * loop.displacement_m
    inertia = v.get("mass_kg", 0.0) * loop.acceleration_m_s2
    return np.asarray(SIGN[direction] * (_in_time(loop, v.get("delay_s", 0.0)) - gas - friction - inertia))


def _in_time(loop: Loop, delay_s: float) -> Array:
    """The loop's force with its delay taken back; shape (P,)."""
    phase = np.arange(loop.mean_force_n.size) / loop.mean_force_n.size
    return np.interp(phase + delay_s / loop.period_s, phase, loop.mean_force_n, period=1.0)


def _take_up(loop: Loop, joint: JointFit, direction: str, resolution_m: float) -> TakeUp:
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
    at = int(np.searchsorted(travel, _travel_to(travel, force, TAKEN_UP * law.max())))
    near = slice(max(0, at - 2), at + 3)
    rows_a_point = (loop.stage.stop - loop.stage.start) / (loop.stage.cycles * speed.size)
    spacing = float(np.ptp(travel[near])) / 4 / min(1.0, rows_a_point)
    slope = float(np.ptp(force[near])) / max(float(np.ptp(travel[near])), 1e-9)
    noise = float(joint.points.sigma_n[joint.points.stage == loop.stage.index].mean()) / max(slope, 1e-9)
    reading = float(np.hypot(np.hypot(spacing, resolution_m) / 12**0.5, min(noise, travel[-1])))
    return TakeUp(
        loop.stage.index, loop.peak_velocity_m_s, lost, half, float(speed[rows[at]]), reading, travel, force, law
    )


def _travel_to(travel: Array, force: Array, level_n: float) -> float:
    """Travel over which the force is below a level: noise near the crossing adds as much as it takes away."""
    below = np.maximum(level_n - force, 0.0)
    above = np.maximum(force - level_n, 0.0)
    low, high = below[1:] + below[:-1], above[1:] + above[:-1]  # of each step; where both, the line between crosses
    return float(np.sum(np.diff(travel) * low / np.maximum(low + high, 1e-300)))
