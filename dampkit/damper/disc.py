"""A friction damper: sliding force against speed, and no valve."""

from __future__ import annotations

import numpy as np

from dampkit.bench.run import Quality
from dampkit.curves.loop import Curves, Loop
from dampkit.damper.bench_share import BenchShare
from dampkit.damper.reading import REPEATS
from dampkit.damper.take_up import TakenOut
from dampkit.damper.unit import Reading, Side, Sliding, Unit
from dampkit.quantities import Z95, Array, Estimate, read_only

MIDDLE_SHARE = 0.6  # of half the stroke about its middle: there the joint slides and its arm's spring is at rest


def identify_disc(curves: Curves) -> Unit:
    """Friction as half the difference of out and in around mid-stroke, stage by stage; their mean is the zero.

    Source: [rao] ch. 2 for Coulomb friction; the reading is our own.
    """
    readings = np.array([_sliding(loop) for loop in curves.loops])
    friction, offset = readings[:, 0], readings[:, 1]
    share = BenchShare.of(curves.run, curves.loops)
    speed = np.array([loop.peak_velocity_m_s for loop in curves.loops])
    order = np.argsort(speed)
    mean = share.widen(_mean(friction), "friction")
    assert mean is not None
    stages = tuple(curves.loops[i].stage.index for i in order)
    half = np.hypot(mean.half_width, Z95 * REPEATS * friction[order])
    read = Reading(
        read_only(speed[order]),
        read_only(friction[order]),
        read_only(friction[order] - half),
        read_only(friction[order] + half),
        stages,
    )
    zero = f"its readings are centred on {offset.mean():.1f} N, which is the cell's zero."
    return Unit(
        Side("rebound", reading=read),
        Side("compression", reading=read),
        friction_force_n=mean,
        friction_at_most_n=mean.high,
        friction_used_n=mean.value,
        taken_out=TakenOut(gas_n=-float(offset.mean()), friction_n=mean.value),
        temperature_c=None,
        quality=(
            Quality(
                "no_valve", "note", "A friction damper has no valve: no bleed, leak, blow-off or gas force is given."
            ),
            Quality(
                "delay_open", "note", f"Its force turns over at once, so delay and spring are not separated; {zero}"
            ),
        ),
        sliding=Sliding(read_only(speed[order]), read_only(friction[order])),
    )


def _sliding(loop: Loop) -> tuple[float, float]:
    """Half difference and mean of the force out and in, about the middle of the stroke.

    By place, not by speed: a drive with corners is at full speed while the arm's spring still winds up.
    """
    x = loop.displacement_m
    low, high = float(x.min()), float(x.max())
    middle = np.abs(x - 0.5 * (low + high)) < 0.5 * MIDDLE_SHARE * (high - low)
    out, back = (float(loop.mean_force_n[middle & (sign * loop.velocity_m_s > 0)].mean()) for sign in (1, -1))
    return 0.5 * (out - back), 0.5 * (out + back)


def _mean(values: Array) -> Estimate:
    """Mean over the stages with their spread; one stage alone is allowed five percent."""
    value = float(values.mean())
    error = float(values.std(ddof=1) / np.sqrt(values.size)) if values.size > 1 else 0.05 * abs(value) / Z95
    return Estimate.from_standard_error(value, error)
