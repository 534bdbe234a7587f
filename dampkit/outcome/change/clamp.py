"""A friction damper: its force goes with the load that clamps its discs."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Literal

import numpy as np

from dampkit.expected.conformity import Answer, judge
from dampkit.expected.reference import Compared
from dampkit.outcome.advice_record import AdviceRecord, PartRecord
from dampkit.outcome.requirements import together
from dampkit.outcome.target import TargetAnswer
from dampkit.quantities import Estimate, number

WORK = 0.05  # 95 % of how far a clamp may be set off the load asked for; common practice, no source
REACH = (0.5, 2.0)  # of the present load: beyond it discs slip at rest or jam; common practice, no source
CANNOT = "No clamping load that the discs bear brings it inside."
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
    ratio = _reached(float(share.sum() / (share @ share)))
    answer = together([_after(Estimate(m, m - h, m + h), ratio, a, b) for m, h, a, b in zip(measured, half, low, high, strict=True)])  # fmt: skip
    return _record("reference", ratio, friction, answer)


def clamp_to_ratio(target: TargetAnswer, friction: Estimate | None) -> AdviceRecord | None:
    """Clamping load for the damping ratio that the car wants; None where the ratio was not reached by the test.

    Work per cycle goes with friction, and so does the ratio. Source: [rao] ch. 3 (Coulomb equivalent).
    """
    rated = target.rated_ratio
    if rated is None or rated.value <= 0:
        return None
    ratio = _reached(target.target_ratio / rated.value)
    return _record("vehicle", ratio, friction, _after(rated, ratio, target.low_ratio, target.high_ratio))


def _reached(ratio: float) -> float:
    return min(max(ratio, REACH[0]), REACH[1])


def _after(now: Estimate, ratio: float, low: float, high: float) -> Answer:
    """Whether a value that goes with the clamp is then inside, the work's own scatter counted."""
    half = math.hypot(ratio * now.half_width, WORK * ratio * now.value)
    return judge(Estimate(ratio * now.value, ratio * now.value - half, ratio * now.value + half), low, high).answer


def _record(
    aim: Literal["reference", "vehicle"], ratio: float, friction: Estimate | None, answer: Answer
) -> AdviceRecord:
    if answer == "out":
        return AdviceRecord(aim=aim, parts=(), curves=(), damping_ratios=(), answer=answer, notes=(CANNOT,))
    now = None if friction is None else friction.value
    new = None if now is None else ratio * now
    words = f"Friction clamp: {'tighten' if ratio > 1 else 'slacken'} to {number(ratio)} times the present load"
    words += "." if now is None or new is None else f"; friction {number(now)} to {number(new)} N."
    part = PartRecord(direction="both", part="friction clamp", ratio=ratio, now=now, new=new, unit="N", do=words)
    return AdviceRecord(aim=aim, parts=(part,), curves=(), damping_ratios=(), answer=answer, notes=(HOLDS,))
