"""Does the unit suit the car: its damping ratio at the rated speed held against the target, its forces against the band."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Literal

import numpy as np

from dampkit.damper.reading import reading_at
from dampkit.damper.unit import Unit
from dampkit.expected.conformity import Answer, judge
from dampkit.expected.reference import Compared
from dampkit.expected.window import USUAL_SPEEDS_M_S
from dampkit.frozen import frozen
from dampkit.needs.corner import Corner
from dampkit.needs.ratio import StageRatio
from dampkit.needs.requirement import RATED_SPEED_M_S, TOLERANCE_OF_RATIO, Need, damper_target_ratio
from dampkit.quantities import DIRECTIONS, Array, Direction, Estimate

ENDS = ("value", "low", "high")  # of an estimate
SPEED_SLACK = 0.02  # share by which the fastest stage may fall short of the rated speed; own choice


@frozen
class TargetAnswer:
    """`rated_ratio` is None where the stages do not reach the rated speed. Shares: rebound over both."""

    answer: Answer
    rated_ratio: Estimate | None
    target_ratio: float
    low_ratio: float
    high_ratio: float
    rebound_share_ratio: float | None
    target_share_ratio: float | None

    @property
    def figures(self) -> tuple[tuple[str, float], ...]:
        measured = () if self.rated_ratio is None else (("ratio", self.rated_ratio.value),)
        return (*measured, ("low", self.low_ratio), ("high", self.high_ratio))

    @property
    def soft(self) -> bool:
        return self.rated_ratio is not None and self.rated_ratio.value < self.low_ratio

    @property
    def side_to_set(self) -> Direction | Literal["both"]:
        """The direction that is further from its share: when too soft the weaker one, when too stiff the stronger one."""
        if self.rebound_share_ratio is None or self.target_share_ratio is None:
            return "both"
        rebound_heavy = self.rebound_share_ratio > self.target_share_ratio
        return "compression" if rebound_heavy == self.soft else "rebound"


def target_answer(ratios: Sequence[StageRatio], corner: Corner) -> TargetAnswer | None:
    """None where the corner has no target ratio.

    A damping ratio falls as speed rises past the knee, so a target means little without its speed; here it is the
    mean of both directions at RATED_SPEED_M_S at the damper, read between the stages on either side of it. What the
    spring's own friction does of the target is taken off first.
    Source: own, with [jcgm106] for the answer.
    """
    wanted = [damper_target_ratio(corner, 1 + edge) for edge in (-TOLERANCE_OF_RATIO, 0.0, TOLERANCE_OF_RATIO)]
    limits = [ratio for ratio in wanted if ratio is not None]
    if not limits:
        return None
    low, target, high = limits
    rated = ratio_at(RATED_SPEED_M_S, ratios)
    share = _share_at(RATED_SPEED_M_S, ratios)
    answer: Answer = "not established" if rated is None else judge(rated, low, high).answer
    return TargetAnswer(answer, rated, target, low, high, share, corner.rebound_share_ratio)


def ratio_at(velocity_m_s: float, ratios: Sequence[StageRatio]) -> Estimate | None:
    """Damping ratio at a peak speed between those tested; None beyond them.

    Ratio times speed is taken as straight between two stages, exact for friction with viscous damping. Source: own.
    """
    between = [_between(velocity_m_s, ratios, [getattr(r.damping_ratio, end) for r in ratios]) for end in ENDS]
    return None if between[0] is None else Estimate(*(float(b) for b in between if b is not None))


def _share_at(velocity_m_s: float, ratios: Sequence[StageRatio]) -> float | None:
    rebound = _between(velocity_m_s, ratios, [r.rebound_ratio for r in ratios])
    compression = _between(velocity_m_s, ratios, [r.compression_ratio for r in ratios])
    if rebound is None or compression is None or rebound + compression <= 0:
        return None
    return rebound / (rebound + compression)


def _between(velocity_m_s: float, ratios: Sequence[StageRatio], values: list[float]) -> float | None:
    v: Array = np.array([r.peak_velocity_m_s for r in ratios], dtype=np.float64)
    if v.size == 0 or not v.min() * (1 - SPEED_SLACK) <= velocity_m_s <= v.max() * (1 + SPEED_SLACK):
        return None
    order = np.argsort(v)
    at = float(np.clip(velocity_m_s, v.min(), v.max()))
    return float(np.interp(at, v[order], (v * np.array(values))[order])) / at


def against_need(unit: Unit, need: Need) -> tuple[Compared, ...]:
    """One point a speed and direction, up to the fastest that the need covers."""
    points = []
    for direction in DIRECTIONS:
        band = need.band(direction)
        for v in USUAL_SPEEDS_M_S:
            if v <= float(need.velocity_m_s[-1]):
                wanted, low, high = (float(np.interp(v, need.velocity_m_s, edge)) for edge in band)
                points.append(Compared(direction, v, reading_at(v, unit, direction), wanted, low, high))
    return tuple(points)
