"""The part of the result that says what a faulty part is when good, and how much oil is missing."""

from __future__ import annotations

from typing import Annotated, Literal

from dampkit.bench.described import described
from dampkit.outcome.record import AS_UNIT_SAYS, DirectionName, EstimateRecord, Record, direction_of, example_of


class RestoreRecord(Record):
    """What a part of the good valve is, by its reference, where it is at fault."""

    direction: Annotated[DirectionName, direction_of("the valve")]
    part: Annotated[Literal["leak", "bleed", "blow-off"], described("Part of it.", "blow-off")]
    now: Annotated[float, described("What it is now.", 410.0, unit=AS_UNIT_SAYS)]
    good: Annotated[float, described("What it is when good.", 610.0, unit=AS_UNIT_SAYS)]
    unit: Annotated[Literal["mm2", "N", "m/s per root N", "m/s per N"], described("Unit of both.", "N")]
    hole_mm: Annotated[float | None, described("Diameter of one round hole like the good bleed.", 1.4)] = None
    at_fault: Annotated[bool, described(
        "False for a part that no fault names but that is not as in the good valve: set while the unit is open.", True)] = True  # fmt: skip
    sure: Annotated[bool, described(
        "False where the fault is only suspected: to be put back once it is opened and seen.", True)] = True  # fmt: skip


class OilRecord(Record):
    """Of a low oil level."""

    gas_in_chamber_ml: Annotated[EstimateRecord | None, described(
        "Gas that one stroke drew into the working chamber.", example_of(6.0, 5.0, 7.0))]  # fmt: skip
    uncovers_at_mm: Annotated[float | None, described(
        "Place of the rod at which the foot valve uncovers, from the middle of the stroke outwards.", 12.0)]  # fmt: skip
    missing_ml: Annotated[float | None, described(
        "Oil that is missing; null where neither a measured fill nor geometry tells.", 40.0)]  # fmt: skip
    missing_is: Annotated[Literal["measured", "to the level", "at least"] | None, described(
        "How the missing oil is known.", "to the level")]  # fmt: skip
