"""The part of the result that says what to change in a sound unit, and what it should read after it."""

from typing import Annotated, Literal

from dampkit.bench.described import described
from dampkit.outcome.record import (
    AS_UNIT_SAYS,
    Answer,
    AtLeastZero,
    Columns,
    DirectionName,
    EstimateRecord,
    Numbers,
    Record,
    direction_of,
    example_of,
)


class PartRecord(Record):
    """One part to change."""

    direction: Annotated[
        Literal["rebound", "compression", "both"], described("Direction that the part works in.", "rebound")
    ]
    part: Annotated[
        Literal["bleed", "preload", "spring", "shim stack", "friction clamp"], described("The part.", "preload")
    ]
    ratio: Annotated[float, described("New over old.", 0.555)]
    now: Annotated[
        float | None, described("Its size now; null where sizes are not declared.", 700.0, unit=AS_UNIT_SAYS)
    ]
    new: Annotated[
        float | None, described("Its new size; null where sizes are not declared.", 388.0, unit=AS_UNIT_SAYS)
    ]
    unit: Annotated[str, described("Unit of both.", "N")]
    do: Annotated[str, described("What to do.", "Blow-off of rebound: opening force from 700 to 388 N.")]
    added: Annotated[bool, described("A hole beside what is there, not in its place.", False)] = False
    irreversible: Annotated[bool, described("Whether it cannot be undone.", False)] = False


class PredictedRecord(Columns):
    """What the bench should read after the change, friction in and gas force out, with its 95 % interval."""

    direction: Annotated[DirectionName, direction_of("the curve")]
    velocity_m_s: Annotated[Numbers, described("Speeds, slow to fast.", [0.05, 0.3])]
    force_n: Annotated[Numbers, described("Force at each.", [130.0, 1270.0])]
    low_n: Annotated[Numbers, described("Lower end of its interval.", [120.0, 1230.0])]
    high_n: Annotated[Numbers, described("Upper end of its interval.", [140.0, 1310.0])]


class RatioAfterRecord(Record):
    """The vehicle's damping at one stage after the change."""

    peak_velocity_m_s: Annotated[AtLeastZero, described("Speed at the damper.", 0.3)]
    damping_ratio: Annotated[
        EstimateRecord, described("Damping ratio of the body on its spring.", example_of(0.28, 0.27, 0.29))
    ]


class AdviceRecord(Record):
    """The smallest change found that brings the unit into its band."""

    aim: Annotated[Literal["reference", "vehicle"], described("What it aims at.", "vehicle")]
    parts: tuple[PartRecord, ...]
    curves: tuple[PredictedRecord, ...]
    damping_ratios: tuple[RatioAfterRecord, ...]
    answer: Annotated[Answer, described("Whether it will be inside.", "in")]
    notes: Annotated[tuple[str, ...], described("What to mind.", ["Test again after the change."])]
    leaves_reference: Annotated[tuple[DirectionName, ...], described(
        "Directions whose forces will lie outside the known-good window.", ["rebound"])] = ()  # fmt: skip
