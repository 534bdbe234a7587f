"""The part of the result that says what to change in a sound unit, and what to test next."""

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


class TestStepRecord(Record):
    """One thing to do, in its turn. Values are null where they do not apply."""

    __test__ = False

    do: Annotated[str, described("A stage of the bench is `run`; else what is done.", "run")]
    text: Annotated[str, described("The same in words.", "Log 6 cycles at 0.1 m/s.")] = ""
    tells: Annotated[tuple[str, ...], described("Keys of the tests that it belongs to.", ["slow_stage"])] = ()
    decides: Annotated[bool, described("Whether the verdict waits for it.", True)] = False
    velocity_m_s: Annotated[float | None, described("Peak speed.", 0.1)] = None
    stroke_m: Annotated[float | None, described("Stroke, peak to peak.", 0.05)] = None
    middle_m: Annotated[float | None, described("Middle of the stroke, out from that of this test.", 0.0)] = None
    frequency_hz: Annotated[float | None, described("Cycles a second.", 0.64)] = None
    cycles: Annotated[int | None, described("How many cycles, or strokes by hand.", 6, unit="1")] = None
    rest_s: Annotated[float | None, described("How long it rests.", 600.0)] = None
    turned_degrees: Annotated[
        float | None, described("How far the rod is turned from how it was fitted.", 90.0, unit="deg")
    ] = None
    beyond: Annotated[bool, described("Faster than the bench has run in this test.", False)] = False


class NextTestRecord(Record):
    """The cheapest test that settles what is open, as one programme."""

    steps: tuple[TestStepRecord, ...]
    joined: Annotated[bool, described("Analysed with the records of this test, as one; else by itself.", True)]
    posture: Annotated[
        Literal["upright", "lying", "inverted"] | None, described("How the unit stands, where that matters.", "upright")
    ] = None
    top_velocity_m_s: Annotated[float | None, described("The highest speed of this test.", 1.0)] = None
    stroke_m: Annotated[float | None, described("The stroke of this test.", 0.05)] = None
    temperature_c: Annotated[float | None, described("Oil temperature of this test.", 22.0)] = None
    keep: Annotated[tuple[str, ...], described("What to keep as it was.", ["The unit stands upright."])] = ()
    then: Annotated[str, described("What to do with the new record.", "analyse old and new together, as one test")] = ""
