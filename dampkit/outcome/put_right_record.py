"""The part of the result that says what a faulty part is when good, and how much oil is missing."""

from __future__ import annotations

from typing import Literal

from dampkit.outcome.measured_record import EstimateRecord
from dampkit.outcome.record import Record


class RestoreRecord(Record):
    """What a part of the good valve is, by its reference, where it is at fault. `hole_mm`: one round hole like it.

    `at_fault`: False for a part that no fault names but that is not as in the good valve: set while the unit is open.
    `sure`: False where the fault is only suspected: to be put back once it is opened and seen.
    """

    direction: Literal["rebound", "compression"]
    part: Literal["leak", "bleed", "blow-off"]
    now: float
    good: float
    unit: Literal["mm2", "N", "m/s per root N", "m/s per N"]
    hole_mm: float | None = None
    at_fault: bool = True
    sure: bool = True


class OilRecord(Record):
    """Of a low level: gas that one stroke drew into the working chamber; rod position, from the middle of the stroke
    outwards, at which the foot valve uncovers; oil missing, None where neither a measured fill nor geometry tells.
    """

    gas_in_chamber_ml: EstimateRecord | None
    uncovers_at_mm: float | None
    missing_ml: float | None
    missing_is: Literal["measured", "to the level", "at least"] | None
