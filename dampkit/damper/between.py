"""How far a law may be off between the tested speeds: what the loops themselves show on their way up and down."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from dampkit.curves.loop import Loop
from dampkit.damper.points import SLOW_M_S
from dampkit.damper.take_up import HALF, TakenOut, TakeUp, hydraulic_n
from dampkit.damper.unit import Law, Reading, Stray
from dampkit.quantities import SIGN, Array, Direction, Estimate, read_only

PLACES = 12  # between two tested speeds
ALONE = 0.1  # of the slowest speed: from there on it is followed where nothing slower was tested


def held_to_loops(law: Law, read: Reading, loops: Sequence[Loop], taken: TakenOut, direction: Direction) -> Law:
    """The law with how far the loops stray from it between two tested speeds.

    On its way up and down the loop of the faster stage passes every speed below its own. A spring, bubbles and a channel
    delay hold the force back on the way up and give it back on the way down, so the valve's force lies between the two, and
    between the readings at both ends, since it rises with speed. A law that explains the loops has to agree with the
    mean of both, in which a lag of first order falls out; of one that does not the force may be anywhere between. Up to
    halfway from the slower speed, by logarithm, the law is held there as well.
    Source: own; checked on a closed form and on made-up units.
    """
    tested, hydraulic = read.velocity_m_s, read.force_n - taken.friction_n
    off = hydraulic - np.interp(tested, law.velocity_m_s, law.force_n)
    speeds, halves = [np.zeros(1)], [np.zeros(1)]
    slower = 0.0, 0.0
    for speed, force, stage in zip(tested, hydraulic, read.stage, strict=True):
        if speed >= SLOW_M_S:
            loop = next(loop for loop in loops if loop.stage.index == stage)
            v = np.geomspace(slower[0] or ALONE * speed, speed, PLACES)
            moved = np.interp(v, law.velocity_m_s, law.force_n) + np.interp(v, tested, off)
            ways = np.clip(both_ways_n(loop, taken, direction, v), min(slower[1], force), force)
            apart = np.abs((ways.mean(axis=0, keepdims=True) if law.explained else ways) - moved).max(axis=0)
            apart[-1] = 0.0
            speeds.append(v)
            halves.append(apart if slower[0] == 0 else apart * np.minimum(2 * np.linspace(0.0, 1.0, PLACES), 1.0))
        slower = float(speed), float(force)
    return replace(law, stray=Stray(read_only(np.concatenate(speeds)), read_only(np.concatenate(halves))))


def is_thin(read: Reading, parameters: int) -> bool:
    """Whether no moving speed is to spare over the parameters of a direction's valve: then its shape between the speeds
    rests on how the loops run, which lags.
    """
    return int((read.velocity_m_s >= SLOW_M_S).sum()) <= parameters


def loosened(law: Law) -> Law:
    """A thin law with its coefficients as unsure as the force is where the loops stray from it most. Source: own.

    A bleed's area goes with one over the root of its force.
    """
    if law.stray is None:
        return law
    at = int(np.argmax(law.stray.half_n))
    force = float(np.interp(law.stray.velocity_m_s[at], law.velocity_m_s, law.force_n))
    share = float(law.stray.half_n[at]) / max(force, 1e-9)
    return replace(
        law,
        bleed_area_mm2=_wider(law.bleed_area_mm2, 0.5 * share),
        bleed_coefficient_n_s2_m2=_wider(law.bleed_coefficient_n_s2_m2, share),
        leak_coefficient_n_s_m=_wider(law.leak_coefficient_n_s_m, share),
        blowoff_force_n=_wider(law.blowoff_force_n, share),
        blowoff_velocity_m_s=_wider(law.blowoff_velocity_m_s, 0.5 * share),
        slope_above_blowoff_n_s_m=_wider(law.slope_above_blowoff_n_s_m, share),
    )


def _wider(estimate: Estimate | None, share: float) -> Estimate | None:
    """With one more independent doubt, half of 95 % as a share of it; None where it could then be nothing."""
    if estimate is None:
        return None
    value, more = estimate.value, share * estimate.value
    wider = Estimate(
        value, value - float(np.hypot(value - estimate.low, more)), value + float(np.hypot(estimate.high - value, more))
    )
    return wider if wider.low > 0 else None


def with_law_error(found: Sequence[TakeUp], law: Law) -> tuple[TakeUp, ...]:
    """Take-ups with what a thin law leaves open of their lost motion: its own rise to half of its force."""
    if law.stray is None:
        return tuple(found)
    halfway = law.valve.velocity(np.array([HALF * t.law_n for t in found]))
    off = np.interp(halfway, law.stray.velocity_m_s, law.stray.half_n)
    return tuple(replace(t, law_error_m=t.risen_m(float(n))) for t, n in zip(found, off, strict=True))


def both_ways_n(loop: Loop, taken: TakenOut, direction: Direction, velocity_m_s: Array) -> Array:
    """Hydraulic force at speeds before and after the fastest point of the half-stroke, shape (2, K)."""
    speed, force = SIGN[direction] * loop.velocity_m_s, hydraulic_n(loop, taken, direction)
    begin = loop.begins(direction)
    rows = (begin + np.arange(int(np.count_nonzero(speed > 0)))) % speed.size
    fastest = int(np.argmax(speed[rows]))
    out = []
    for way in (rows[: fastest + 1], rows[fastest:]):
        order = way[np.argsort(speed[way])]
        out.append(np.interp(velocity_m_s, speed[order], force[order]))
    return np.array(out)
