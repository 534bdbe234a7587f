"""The part of the result that says what is wrong, by what evidence, and what was not looked for."""

from typing import Annotated, Literal

from pydantic import Field

from dampkit.bench.described import described
from dampkit.outcome.record import AS_UNIT_SAYS, AtLeastZero, DirectionName, Record, Share, direction_of


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
