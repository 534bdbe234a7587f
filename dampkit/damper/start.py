"""Where the fit begins: gas and friction from the slowest stage, and knee candidates from the peak-speed points."""

from __future__ import annotations

import numpy as np

from dampkit.curves.loop import Loop
from dampkit.damper.friction import static_force
from dampkit.damper.points import SLOW_M_S
from dampkit.quantities import Array, median, not_negative_fit

MIDDLE = {"rebound": 0, "compression": 256}  # loop points at mid-stroke, where force carries neither inertia nor lag
SIGN = {"rebound": 1.0, "compression": -1.0}


def statics(loops: tuple[Loop, ...]) -> tuple[float, float]:
    """First guess of gas force and friction [N] from the slowest stage: a slow pass's mean and half difference at mid-stroke,
    else the static force where it decelerates, and a tenth of the half difference."""
    slowest = min(loops, key=lambda loop: loop.peak_velocity_m_s)
    out, back = (_middle_force(slowest, direction) for direction in MIDDLE)
    if slowest.peak_velocity_m_s < SLOW_M_S:
        return -0.5 * (out + back), max(0.5 * (out - back), 0.1)
    return -static_force(loops, 0.0).force_n, 0.1 * max(0.5 * (out - back), 1.0)


def peaks(loops: tuple[Loop, ...], direction: str, gas_n: float, friction_n: float) -> tuple[Array, Array]:
    """Speed and hydraulic force at mid-stroke of each stage but the slow passes, shape (stages,)."""
    moving = [loop for loop in loops if loop.peak_velocity_m_s >= SLOW_M_S]
    i = MIDDLE[direction]
    speed = np.array([abs(loop.velocity_m_s[i]) for loop in moving])
    force = np.array([SIGN[direction] * (_middle_force(loop, direction) + gas_n) - friction_n for loop in moving])
    order = np.argsort(speed)
    return speed[order], np.maximum(force[order], 0.5)


def candidates(speed: Array, force: Array) -> list[dict[str, float]]:
    """Valve starts: bleed and leak alone, then a knee near each peak point. Empty where there is no point."""
    if speed.size == 0:
        return []
    starts = [_below_knee(speed, force)]
    for k in range(speed.size):
        for share in (0.6, 0.97):
            knee = share * force[k]
            below = force <= knee
            base = _below_knee(speed[below], force[below]) if below.sum() else _below_knee(speed[:1], force[:1])
            above = ~below & (speed > base["leak"] * force + base["bleed"] * np.sqrt(force))
            if not above.any():
                continue
            lift = (speed - base["leak"] * force)[above] / np.sqrt(force[above]) - base["bleed"]
            rates = lift / (force[above] - knee)
            starts += [
                {**base, "blowoff_force": float(knee), "lift_rate": float(rate), **stop}
                for rate in (median(rates), rates.max())
                for stop in ({}, {"open": float(lift[-1])})
                if rate > 0 and lift[-1] > 0
            ]
    return starts


def _below_knee(speed: Array, force: Array) -> dict[str, float]:
    """Leak and bleed through the points by non-negative least squares, relative errors weighed alike."""
    columns = np.stack([force, np.sqrt(force)], axis=1) / speed[:, None]
    leak, bleed = not_negative_fit(columns, np.ones(speed.size))
    return {"leak": float(leak), "bleed": max(float(bleed), 1e-3 * float(speed[-1]) / float(np.sqrt(force[-1])))}


def _middle_force(loop: Loop, direction: str) -> float:
    """Mean of the loop's points next to mid-stroke."""
    i = MIDDLE[direction]
    near = np.arange(i - 4, i + 5) % loop.velocity_m_s.size
    return float(loop.mean_force_n[near].mean())
