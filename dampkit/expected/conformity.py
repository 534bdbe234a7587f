"""Is the true value within its limits? Three answers, with the measurement's own doubt taken into account."""

from __future__ import annotations

import math
from statistics import NormalDist
from typing import Literal

from dampkit.frozen import frozen
from dampkit.quantities import Z95, Estimate, normal_share

Answer = Literal["in", "out", "not established"]
SURE = 0.95  # probability needed for "in" or for "out" [iso14253]


@frozen
class Conformity:
    answer: Answer
    probability_ratio: float  # that the true value is within the limits


def probability_within(value: float, standard_uncertainty: float, low: float, high: float) -> float:
    """Probability that the true value is between the limits, for a normal distribution about the value measured.

    Limits may be infinite. Zero uncertainty gives 0 or 1. Source: [jcgm106] 7.3 and 7.4.
    """
    if standard_uncertainty <= 0:
        return float(low <= value <= high)
    u = standard_uncertainty
    return normal_share((high - value) / u) - normal_share((low - value) / u)


def guard_band(standard_uncertainty: float, sure: float = SURE) -> float:
    """How far inside a single limit a value must be for conformity at the probability `sure`; 1.645 u at 95 %.

    Source: [iso14253] (default rule), [jcgm106] 8.3.
    """
    return NormalDist().inv_cdf(sure) * standard_uncertainty


def judge(estimate: Estimate, low: float, high: float, sure: float = SURE) -> Conformity:
    """`in`, or `out` on one side, where that is at least `sure`; else `not established`. The interval of the estimate is 95 %.

    Raises ValueError where the limits are the wrong way round or the estimate is not a number.
    """
    if not low <= high:
        raise ValueError(f"lower limit {low} is above upper limit {high}")
    if not math.isfinite(estimate.value) or not math.isfinite(estimate.half_width):
        raise ValueError("an estimate must be finite to be judged")
    u = estimate.half_width / Z95
    p = probability_within(estimate.value, u, low, high)
    if p >= sure:
        return Conformity("in", p)
    beyond = max(
        probability_within(estimate.value, u, -math.inf, low), probability_within(estimate.value, u, high, math.inf)
    )
    return Conformity("out" if beyond >= sure else "not established", p)
