"""Does the unit suit the car: its mean damping ratio at body speeds held against the target."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from dampkit.needs.corner import Corner
from dampkit.needs.ratio import StageRatio
from dampkit.needs.requirement import BODY_SPEED_M_S, TOLERANCE_OF_RATIO
from dampkit.outcome.conformity import Answer, judge
from dampkit.quantities import Estimate

SLOWEST_BODY_SPEED_M_S = 0.05  # below it friction rules the loop; common practice, no source
SPEED_SLACK = 0.02  # share by which a stage may miss the ends of the body speeds and still count; own choice


@dataclass(frozen=True)
class Suits:
    """`mean_ratio` is None where no stage ran at body speeds. Shares are rebound / (rebound + compression) damping."""

    answer: Answer
    mean_ratio: Estimate | None
    target_ratio: float
    low_ratio: float
    high_ratio: float
    rebound_share_ratio: float | None
    target_share_ratio: float | None


def suits(ratios: Sequence[StageRatio], corner: Corner, tolerance: float = TOLERANCE_OF_RATIO) -> Suits | None:
    """None where the corner has no target ratio.

    The mean is over the stages from SLOWEST_BODY_SPEED_M_S to BODY_SPEED_M_S, each counted once; its interval is
    the mean of theirs, as a bench error moves all stages the same way. Source: own, with [jcgm106] for the answer.
    """
    target = corner.target_ratio
    if target is None:
        return None
    low, high = (1 - tolerance) * target, (1 + tolerance) * target
    slowest, fastest = SLOWEST_BODY_SPEED_M_S * (1 - SPEED_SLACK), BODY_SPEED_M_S * (1 + SPEED_SLACK)
    used = [r for r in ratios if slowest <= r.peak_velocity_m_s <= fastest]
    if not used:
        return Suits("not established", None, target, low, high, None, corner.rebound_share_ratio)
    n = len(used)
    ends = [sum(getattr(r.damping_ratio, end) for r in used) / n for end in ("value", "low", "high")]
    mean = Estimate(*ends)
    rebound, compression = sum(r.rebound_ratio for r in used), sum(r.compression_ratio for r in used)
    share = rebound / (rebound + compression) if rebound + compression > 0 else None
    return Suits(judge(mean, low, high).answer, mean, target, low, high, share, corner.rebound_share_ratio)
