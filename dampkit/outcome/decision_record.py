"""The part of the result that decides: faults by their evidence, what is asked, what hands found, courses, the verdict; and what
a faulty part is when good, and how much oil is missing."""

from typing import Annotated, Literal

from pydantic import Field

from dampkit.bench.described import described
from dampkit.outcome.costs import CourseName
from dampkit.outcome.record import (
    AS_UNIT_SAYS,
    MONEY,
    Answer,
    AtLeastZero,
    DirectionName,
    EstimateRecord,
    Record,
    Share,
    direction_of,
    example_of,
)

Action = Literal["fit", "adjust", "rebuild", "replace", "retest", "undecided"]
Piece = Literal["slow pass", "below the knee", "knee", "above the knee", "top"]
PieceAnswer = Literal["in", "out", "not established", "not compared", "not tested"]
Against = Literal["reference", "other direction", "vehicle"]


class InspectionRecord(Record):
    """What eyes and hands found, as declared."""

    answers: Annotated[dict[str, str], described("Each question with its answer.", {"leak": "dry"})]
    against: Annotated[tuple[str, ...], described("Answers that speak against the unit as it is.", ["leak: damp"])]
    not_established: Annotated[tuple[str, ...], described("Questions without an answer.", ["state of the bore"])]
    notes: Annotated[str | None, described("Whatever else was seen.", "new lower bush")]


class CourseRecord(Record):
    """One course and its expected cost."""

    course: Annotated[CourseName, described("Which course.", "rebuild")]
    expected_cost: Annotated[
        EstimateRecord, described("Its cost in the long run.", example_of(210.0, 170.0, 250.0), unit=MONEY)
    ]
    scatter: Annotated[
        float, described("Standard deviation of what a single job costs, by its chances.", 45.0, unit=MONEY)
    ]
    days: Annotated[float | None, described("Days until it is done.", 5.0, unit="days")]
    warranty_months: Annotated[float | None, described("Warranty.", 12.0)]
    ruled_out: Annotated[
        str | None, described("Why it is not open, whatever it costs.", "The parts for it are not to be had.")
    ]


class FlipRecord(Record):
    """Where one number of the cost file makes the two cheapest open courses cost the same."""

    name: Annotated[str, described("The number.", "rebuild.hours")]
    now: Annotated[float, described("What it is.", 2.2, unit="that of the name")]
    breaks_even: Annotated[float, described("Where both cost the same.", 2.9, unit="that of the name")]
    within_declared_range: Annotated[bool, described("Whether that is within what was declared.", True)]


class CoursesRecord(Record):
    """The courses with a table in the cost file."""

    currency: Annotated[str, described("What the money is called.", "EUR")]
    courses: tuple[CourseRecord, ...]
    chosen: Annotated[CourseName | None, described("The course to take.", "rebuild")]
    reasons: Annotated[tuple[str, ...], described("Why.", ["Only rebuilding is open."])]
    flips: tuple[FlipRecord, ...]


class GroundRecord(Record):
    """One ground of the verdict."""

    key: Annotated[str, described("Kind of ground.", "fault")]
    about: Annotated[str, described("What it is about, a code.", "low_oil")] = ""
    direction: Annotated[DirectionName | None, direction_of("what it is about")] = None
    figures: Annotated[dict[str, float], described(
        "Its figures, by name.", {"ratio": 0.41, "low": 0.26, "high": 0.38}, unit="that of the name")] = Field(default_factory=dict)  # fmt: skip


class VerdictRecord(Record):
    """`grounds` and `step` are what was decided; `reasons` and `next_step` are their words."""

    action: Annotated[Action, described("What to do with the unit.", "rebuild")]
    reasons: Annotated[tuple[str, ...], described("Why, in sentences.", ["Oil level low."])]
    next_step: Annotated[str, described("What to do next, in a sentence.", "Open it, and fill it to the level.")]
    grounds: tuple[GroundRecord, ...] = ()
    step: Annotated[str, described("The next step, for programs.", "remedy:low_oil")] = ""


class SpanRecord(Record):
    """Travel from a reversal on, to be marked on a loop."""

    after: Annotated[DirectionName, described("Direction that begins at the reversal.", "rebound")]
    length_m: Annotated[AtLeastZero, described("Length of the travel.", 0.0015)]


class EvidenceRecord(Record):
    """One measure that speaks for a fault, beyond its limit."""

    key: Annotated[str, described("Name of the measure, for programs.", "late")] = ""
    measure: Annotated[str, described("The measure in words.", "lost motion entering rebound")]
    value: Annotated[float, described("What was measured.", 1.5, unit=AS_UNIT_SAYS)]
    unit: Annotated[str, described("Unit of value, limit and interval.", "mm")]
    limit: Annotated[float, described("Limit that it is beyond.", 0.8, unit=AS_UNIT_SAYS)]
    basis: Annotated[str, described("Where the limit comes from.", "common practice, no source")]
    low: Annotated[float | None, described("Lower end of the 95 % interval of the value.", 1.3, unit=AS_UNIT_SAYS)] = (
        None
    )
    high: Annotated[float | None, described("Upper end of the 95 % interval of the value.", 1.7, unit=AS_UNIT_SAYS)] = (
        None
    )
    direction: Annotated[DirectionName | None, direction_of("the measure")] = None
    stage_index: Annotated[int | None, described("Stage that it was read at.", 3, unit="1")] = None
    velocity_m_s: Annotated[float | None, described("Speed that it was read at.", 0.3)] = None
    spans: tuple[SpanRecord, ...] = ()


class NotLookedForRecord(Record):
    """A fault that this test cannot show."""

    code: Annotated[str, described("Code of the fault.", "fade")]
    lacks: Annotated[tuple[str, ...], described("Names of the evidence that is missing.", ["repeat"])]
    needs: Annotated[
        str,
        described("What it would need, in a sentence.", "Fade: needs one speed run twice, or six cycles at one speed."),
    ]


class FaultRecord(Record):
    """A fault that was found or is suspected."""

    code: Annotated[str, described("Code of the fault.", "low_oil")]
    level: Annotated[Literal["found", "suspected"], described("How sure it is.", "found")]
    likelihood: Annotated[Share, described("Probability that it is there.", 0.98, unit="1")]
    sentence: Annotated[str, described("The fault in a sentence.", "Oil level low.")]
    evidence: tuple[EvidenceRecord, ...]
    stage_index: Annotated[int | None, described("Stage that shows it best.", 3, unit="1")]
    direction: Annotated[DirectionName | None, direction_of("the fault")] = None
    figures: Annotated[dict[str, float], described(
        "Figures of the sentence, by name.", {"limit": 3.0}, unit="that of the name")] = Field(default_factory=dict)  # fmt: skip


class CoverageRecord(Record):
    """A range of speed in one direction, and whether the unit was inside there."""

    direction: Annotated[DirectionName, direction_of("the range")]
    piece: Annotated[Piece, described("Which piece of the speeds it is.", "below the knee")]
    from_velocity_m_s: Annotated[AtLeastZero, described("Slowest speed of it.", 0.05)]
    to_velocity_m_s: Annotated[AtLeastZero, described("Fastest speed of it.", 0.13)]
    answer: Annotated[PieceAnswer, described("Inside what is asked, outside, or not known.", "in")]
    against: Annotated[Against | None, described("What it was held against.", "reference")] = None


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


class RestoreRecord(Record):
    """What a part of the good valve is, by its reference, where it is at fault."""

    direction: Annotated[DirectionName, direction_of("the valve")]
    part: Annotated[Literal["leak", "bleed", "blow-off", "spring", "shim stack"], described(
        "Part of it; a spring by its rate, a stack of shims by the force at which it opens.", "blow-off")]  # fmt: skip
    now: Annotated[float, described("What it is now.", 410.0, unit=AS_UNIT_SAYS)]
    good: Annotated[float, described("What it is when good.", 610.0, unit=AS_UNIT_SAYS)]
    unit: Annotated[Literal["mm2", "N", "m/s per root N", "m/s per N", "times"], described(
        "Unit of both; times: the good rate over the present one.", "N")]  # fmt: skip
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
