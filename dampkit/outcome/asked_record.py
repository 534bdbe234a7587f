"""The part of the result that holds what was measured against what is asked: reference, coverage, requirements."""

from typing import Annotated, Literal

from dampkit.bench.described import described
from dampkit.outcome.record import (
    AS_UNIT_SAYS,
    Answer,
    AtLeastZero,
    DirectionName,
    EstimateRecord,
    Record,
    Share,
    direction_of,
    example_of,
)


class CoverageRecord(Record):
    """A range of speed in one direction, and whether the unit was inside there."""

    direction: Annotated[DirectionName, direction_of("the range")]
    piece: Annotated[Literal["slow pass", "below the knee", "knee", "above the knee", "top"], described(
        "Which piece of the speeds it is.", "below the knee")]  # fmt: skip
    from_velocity_m_s: Annotated[AtLeastZero, described("Slowest speed of it.", 0.05)]
    to_velocity_m_s: Annotated[AtLeastZero, described("Fastest speed of it.", 0.13)]
    answer: Annotated[Literal["in", "out", "not established", "not compared", "not tested"], described(
        "Inside what is asked, outside, or not known.", "in")]  # fmt: skip
    against: Annotated[
        Literal["reference", "other direction", "vehicle"] | None, described("What it was held against.", "reference")
    ] = None


class ReferencePoint(Record):
    """One declared speed of the known-good reference; forces are bench readings with friction in and gas force out."""

    direction: Annotated[DirectionName, direction_of("the forces")]
    velocity_m_s: Annotated[AtLeastZero, described("Speed.", 0.3)]
    measured_n: Annotated[float | None, described(
        "Force of this unit, brought to the reference's temperature; null where it was not tested.", 1195.0)]  # fmt: skip
    measured_low_n: Annotated[float | None, described("Lower end of its 95 % interval.", 1180.0)]
    measured_high_n: Annotated[float | None, described("Upper end of its 95 % interval.", 1210.0)]
    reference_n: Annotated[float, described("Force of a known-good unit.", 1260.0)]
    low_n: Annotated[float, described("Lower edge of the window.", 1071.0)]
    high_n: Annotated[float, described("Upper edge of the window.", 1449.0)]
    answer: Annotated[Answer, described("Whether the force is inside.", "in")]
    read_n: Annotated[
        float | None, described("What the bench read, where it was brought to another temperature.", 1150.0)
    ] = None
    read_temperature_c: Annotated[float | None, described("How warm it was then.", 34.0)] = None


class RequirementRecord(Record):
    """One thing asked of the unit."""

    key: Annotated[str, described("Name of the requirement, for programs.", "lost_motion")] = ""
    name: Annotated[str, described("Its name in words.", "lost motion entering rebound")]
    answer: Annotated[Answer, described("Whether it is met.", "in")]
    probability: Annotated[Share | None, described(
        "That the true value is within the limits; the least likely one of several.", 0.99)]  # fmt: skip
    measured: Annotated[
        EstimateRecord | None, described("What was measured.", example_of(0.6, 0.3, 0.9), unit=AS_UNIT_SAYS)
    ]
    limit_low: Annotated[float | None, described("Lower limit; null where there is none.", 0.0, unit=AS_UNIT_SAYS)]
    limit_high: Annotated[float | None, described("Upper limit; null where there is none.", 3.0, unit=AS_UNIT_SAYS)]
    guard_band: Annotated[float | None, described(
        "How far inside its limits a value must be to be called in.", 0.3, unit=AS_UNIT_SAYS)]  # fmt: skip
    unit: Annotated[str, described("Unit of them.", "mm")]
    basis: Annotated[str, described("Where the limits come from.", "common practice, no source")]
