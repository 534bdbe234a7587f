"""The part of the result that decides: what hands found, what each course costs, the verdict with its grounds."""

from typing import Annotated, Literal

from pydantic import Field

from dampkit.bench.described import described
from dampkit.outcome.record import MONEY, DirectionName, EstimateRecord, Record, direction_of, example_of

Action = Literal["fit", "adjust", "rebuild", "replace", "retest", "undecided"]
CourseNameRecord = Literal["adjust", "rebuild", "rechrome", "new_rod", "sleeve", "new", "exchange"]


class InspectionRecord(Record):
    """What eyes and hands found, as declared."""

    answers: Annotated[dict[str, str], described("Each question with its answer.", {"leak": "dry"})]
    against: Annotated[tuple[str, ...], described("Answers that speak against the unit as it is.", ["leak: damp"])]
    not_established: Annotated[tuple[str, ...], described("Questions without an answer.", ["state of the bore"])]
    notes: Annotated[str | None, described("Whatever else was seen.", "new lower bush")]


class CourseRecord(Record):
    """One course and its expected cost."""

    course: Annotated[CourseNameRecord, described("Which course.", "rebuild")]
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
    chosen: Annotated[CourseNameRecord | None, described("The course to take.", "rebuild")]
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
