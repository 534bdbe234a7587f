"""A friction damper: its force goes with the load that clamps its discs."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from dampkit.expected.conformity import guard_band
from dampkit.expected.reference import Compared
from dampkit.outcome.result import AdviceRecord, PartRecord
from dampkit.quantities import Z95, Estimate, number

WORK = 0.05  # 95 % of how far a clamp may be set off the load asked for; common practice, no source
HOLDS = (
    "Friction goes with the clamping load at equal surfaces (Coulomb). Run it in for some minutes and measure again; "
    "old linings may hold asbestos: do not grind, brush or blow them."
)


def clamp_advice(points: Sequence[Compared], friction: Estimate | None) -> AdviceRecord | None:
    """Clamping load as a ratio to the present one, by least squares of shares over all speeds tested.

    None where nothing was measured. Source: own, from Coulomb friction.
    """
    tested = [(p, p.measured_n) for p in points if p.measured_n is not None and p.measured_n.value > 0]
    if not tested:
        return None
    rows = [(read.value, read.half_width, p.wanted_n, p.low_n, p.high_n) for p, read in tested]
    measured, half, wanted, low, high = np.array(rows, dtype=np.float64).T
    share = measured / wanted
    ratio = float(share.sum() / (share @ share))
    after = ratio * measured
    guard = guard_band(1.0) / Z95 * np.hypot(ratio * half, WORK * after)
    inside = bool(np.all((after - guard >= low) & (after + guard <= high)))
    now = None if friction is None else friction.value
    new = None if now is None else ratio * now
    words = f"Friction clamp: {'tighten' if ratio > 1 else 'slacken'} to {number(ratio)} times the present load"
    words += "." if now is None or new is None else f"; friction {number(now)} to {number(new)} N."
    part = PartRecord(direction="both", part="friction clamp", ratio=ratio, now=now, new=new, unit="N", do=words)
    return AdviceRecord(
        aim="reference",
        parts=(part,),
        curves=(),
        damping_ratios=(),
        answer="in" if inside else "not established",
        notes=(HOLDS,),
    )
