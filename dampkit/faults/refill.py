"""Starved refill valve: the chamber that should fill behind the piston does not, above a speed."""

from __future__ import annotations

from dampkit.faults.finding import Finding
from dampkit.faults.held_back import SIGN
from dampkit.faults.judge import PRACTICE, Case, Measure, finding, surest
from dampkit.faults.oil import LATE_LIMIT_MM, late_mm

DELAY_S = (
    0.005  # common practice: no bench's force channel lags by more; travel in that time is the bench's, not the unit's
)
READING_MM = 0.5  # standard uncertainty at speed


def starved_refill(case: Case) -> Finding | None:
    """Lost motion that is absent slow and grows above an onset speed, in a twin-tube or lever-arm unit.

    Travel held back until 20 % of the force, fastest less slowest stage, beyond what a channel delay could make.
    Source: own, after factory test memos on lever-arm units: free lever travel after a quick stroke, cured at the ball
    seat of the refill valve. Confused with low oil (there slow as well), a channel delay (in proportion to speed) and
    low gas in a monotube (which has no refill valve).
    """
    if case.kind not in ("twin-tube", "lever-arm"):
        return None
    return surest([_starved(case, direction) for direction in SIGN])


def _starved(case: Case, direction: str) -> Finding | None:
    stages = sorted(case.held[direction], key=lambda h: h.peak_velocity_m_s)
    if len(stages) < 3:
        return None
    slow, fast = stages[0], max(stages[1:], key=lambda h: h.early_m - 1.0 * DELAY_S * h.peak_velocity_m_s)
    grown = 1e3 * (fast.early_m - min(slow.early_m, stages[1].early_m))
    limit = LATE_LIMIT_MM + 1e3 * DELAY_S * fast.peak_velocity_m_s
    late = late_mm(case, direction)
    if late is None:
        return None
    measures = [
        Measure(f"late travel entering {direction}, slow stages", *late, "mm", LATE_LIMIT_MM, PRACTICE, "below"),
        Measure(
            f"lost motion entering {direction} at {fast.peak_velocity_m_s:.2g} m/s beyond that at {slow.peak_velocity_m_s:.2g} m/s",
            grown, READING_MM, "mm", limit, PRACTICE,
        ),
    ]  # fmt: skip
    sentence = (
        f"Refill starved: {grown:.0f} mm of lost motion entering {direction} at {fast.peak_velocity_m_s:.2g} m/s, "
        "none slow (refill or foot valve sticks, or its passage is shut)"
    )
    return finding("starved_refill", measures, sentence, fast.stage)
