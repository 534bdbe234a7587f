"""The part of the result that says what a faulty part is when good, and how much oil is missing."""

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
    missing_is: Annotated[Literal["measured", "by the level found", "to the level", "at least"] | None, described(
        "How the missing oil is known.", "to the level")]  # fmt: skip
    to_add_ml: Annotated[EstimateRecord | None, described(
        "The missing oil with its interval, at 20 degC; at least so much where no level is declared.", example_of(40.0, 35.0, 45.0))] = None  # fmt: skip
    fill_to_mm: Annotated[float | None, described(
        "Height over the foot valve to fill to with the rod fully out, as declared.", 150.0)] = None  # fmt: skip
    grade: Annotated[str | None, described("Grade of the oil, as declared.", "damper oil, 15 mm2/s at 40 degC")] = None


class FillRecord(Record):
    """What fill, level and weight say by themselves, whatever the test found."""

    swells_ml: Annotated[float | None, described("How much more the whole fill takes at 80 than at 20 degC.", 10.8)]
    room_ml: Annotated[float | None, described("Air space over the level, for it to swell into.", 26.0)]
    has_room: Annotated[bool | None, described("Whether it has that room.", True)]
    gained_ml: Annotated[float | None, described("Oil that it weighs more as it leaves than as it arrived.", 31.0)]
    lost_ml_per_day: Annotated[float | None, described(
        "Oil that it lost as it stood, per day.", 0.0, unit="ml/d")]  # fmt: skip
    to_level_ml: Annotated[EstimateRecord | None, described(
        "Oil from the level found up to the maker's.", example_of(12.0, 10.0, 14.0))]  # fmt: skip


class GasForceRecord(Record):
    """Force of the gas on the rod at a place and a temperature."""

    out_mm: Annotated[float, described("Place of the rod, out of the middle of the stroke.", 25.0)]
    temperature_c: Annotated[float, described("Temperature of gas and oil.", 80.0)]
    force_n: Annotated[float | None, described("Standing still there; null where no room is left for the gas.", 240.0)]
    fast_n: Annotated[
        float | None, described("Moved there from the middle so fast that the gas keeps its heat.", 236.0)
    ]


class GasRecord(Record):
    """The charge of a monotube: what there is, what there should be, and what it does."""

    declared_bar: Annotated[float, described("Charge on the data sheet, over the air.", 22.0)]
    found_bar: Annotated[EstimateRecord | None, described(
        "What there is, brought to the place and temperature of the data sheet.", example_of(18.0, 17.0, 19.0))]  # fmt: skip
    add_bar: Annotated[EstimateRecord | None, described(
        "What is missing of it; below 0 it has too much.", example_of(4.0, 3.0, 5.0))]  # fmt: skip
    volume_ml: Annotated[float | None, described("Volume of the gas with the rod in the middle of the stroke.", 60.0)]
    volume_is: Annotated[Literal["declared", "from the gas spring"] | None, described(
        "How that is known.", "declared")]  # fmt: skip
    forces: Annotated[tuple[GasForceRecord, ...], described(
        "Force of the declared charge at both ends and in the middle of the stroke, cold and hot.", [])] = ()  # fmt: skip
