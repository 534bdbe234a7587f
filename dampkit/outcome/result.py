"""The result: everything an analysis says, in the form that is stored, printed and drawn.

The models are frozen, refuse unknown keys, and are where the JSON Schema of the result comes from.
"""

from __future__ import annotations

from typing import Any, Literal

from pydantic import Field

from dampkit.outcome.measured_record import (
    BothValves as BothValves,
)
from dampkit.outcome.measured_record import (
    CurveRecord as CurveRecord,
)
from dampkit.outcome.measured_record import (
    EstimateRecord as EstimateRecord,
)
from dampkit.outcome.measured_record import (
    FileRecord as FileRecord,
)
from dampkit.outcome.measured_record import (
    LagRecord as LagRecord,
)
from dampkit.outcome.measured_record import (
    LoopRecord as LoopRecord,
)
from dampkit.outcome.measured_record import (
    LostMotionRecord as LostMotionRecord,
)
from dampkit.outcome.measured_record import (
    PointsRecord as PointsRecord,
)
from dampkit.outcome.measured_record import (
    QualityRecord as QualityRecord,
)
from dampkit.outcome.measured_record import (
    RowsRecord as RowsRecord,
)
from dampkit.outcome.measured_record import (
    RunRecord as RunRecord,
)
from dampkit.outcome.measured_record import (
    StageRecord as StageRecord,
)
from dampkit.outcome.measured_record import (
    StaticsRecord as StaticsRecord,
)
from dampkit.outcome.measured_record import (
    StepRecord as StepRecord,
)
from dampkit.outcome.measured_record import (
    StrokeFrictionRecord as StrokeFrictionRecord,
)
from dampkit.outcome.measured_record import (
    ValveRecord as ValveRecord,
)
from dampkit.outcome.next_test_record import NextTestRecord as NextTestRecord
from dampkit.outcome.next_test_record import TestStepRecord as TestStepRecord
from dampkit.outcome.put_right_record import OilRecord as OilRecord
from dampkit.outcome.put_right_record import RestoreRecord as RestoreRecord
from dampkit.outcome.record import Columns, Record
from dampkit.outcome.ride_record import FactRecord, RideRecord

Action = Literal["fit", "adjust", "rebuild", "replace", "retest", "undecided"]
DirectionName = Literal["rebound", "compression"]
CourseNameRecord = Literal["adjust", "rebuild", "rechrome", "new_rod", "sleeve", "new", "exchange"]


class SpanRecord(Record):
    """Travel from a reversal on, to be marked on a loop."""

    after: DirectionName
    length_m: float


class EvidenceRecord(Record):
    """`key` names the measure; `measure` and `basis` are its words."""

    key: str = ""
    measure: str
    value: float
    unit: str
    limit: float
    basis: str
    low: float | None = None  # 95 % interval of the value
    high: float | None = None
    direction: DirectionName | None = None
    stage_index: int | None = None
    velocity_m_s: float | None = None
    spans: tuple[SpanRecord, ...] = ()


class NotLookedForRecord(Record):
    """A fault that this test cannot show; `lacks` names the evidence, `needs` is a sentence."""

    code: str
    lacks: tuple[str, ...]
    needs: str


class CoverageRecord(Record):
    """A range of speed in one direction. `piece` names it; `against` what it was held against."""

    direction: DirectionName
    piece: Literal["slow pass", "below the knee", "knee", "above the knee", "top"]
    from_velocity_m_s: float
    to_velocity_m_s: float
    answer: Literal["in", "out", "not established", "not compared", "not tested"]
    against: Literal["reference", "vehicle"] | None = None


class GroundRecord(Record):
    """One ground of the verdict: its kind, what it is about (a code), and its figures by name."""

    key: str
    about: str = ""
    direction: DirectionName | None = None
    figures: dict[str, float] = Field(default_factory=dict)


class FaultRecord(Record):
    code: str
    level: Literal["found", "suspected"]
    likelihood: float
    sentence: str
    evidence: tuple[EvidenceRecord, ...]
    stage_index: int | None
    direction: DirectionName | None = None
    figures: dict[str, float] = Field(default_factory=dict)


class RatioRecord(Record):
    """At one stage; `peak_velocity_m_s` is at the damper. `damping_ratio` is of the body alone on its spring (one mass);
    `body_ratio` and `wheel_ratio` are of the two swings that body and wheel make on spring and tyre with that damping.
    """

    peak_velocity_m_s: float
    damping_ratio: EstimateRecord
    rebound_ratio: float
    compression_ratio: float
    body_ratio: float | None = None
    wheel_ratio: float | None = None


class BandRecord(Columns):
    """Force at the damper that the vehicle needs, friction included, positive magnitudes."""

    velocity_m_s: tuple[float, ...]
    rebound_n: tuple[float, ...]
    rebound_low_n: tuple[float, ...]
    rebound_high_n: tuple[float, ...]
    compression_n: tuple[float, ...]
    compression_low_n: tuple[float, ...]
    compression_high_n: tuple[float, ...]
    basis: str


class VehicleRecord(Record):
    name: str
    critical_damping_n_s_m: float
    body_frequency_hz: float
    wheel_frequency_hz: float
    static_deflection_mm: float
    target_damping_ratio: float | None
    ratios: tuple[RatioRecord, ...]
    need: BandRecord | None
    facts: tuple[FactRecord, ...] = ()
    ride: RideRecord | None = None


class ReferencePoint(Record):
    """One declared speed of the known-good reference; forces are bench readings with friction in and gas force out."""

    direction: Literal["rebound", "compression"]
    velocity_m_s: float
    measured_n: float | None
    measured_low_n: float | None
    measured_high_n: float | None
    reference_n: float
    low_n: float
    high_n: float
    answer: Literal["in", "out", "not established"]
    read_n: float | None = None  # what the bench read, where `measured_n` was brought to the reference's temperature
    read_temperature_c: float | None = None


class PartRecord(Record):
    """One part to change. `ratio` is new over old; `now` and `new` are None where sizes are not declared."""

    direction: Literal["rebound", "compression", "both"]
    part: Literal["bleed", "preload", "spring", "shim stack", "friction clamp"]
    ratio: float
    now: float | None
    new: float | None
    unit: str
    do: str
    added: bool = False  # a hole beside what is there, not in its place
    irreversible: bool = False


class PredictedRecord(Columns):
    """What the bench should read after the change, friction in and gas force out, with its 95 % interval."""

    direction: Literal["rebound", "compression"]
    velocity_m_s: tuple[float, ...]
    force_n: tuple[float, ...]
    low_n: tuple[float, ...]
    high_n: tuple[float, ...]


class RatioAfterRecord(Record):
    peak_velocity_m_s: float
    damping_ratio: EstimateRecord


class AdviceRecord(Record):
    """The smallest change found that brings the unit into its band; `answer` says whether it will be inside."""

    aim: Literal["reference", "vehicle"]
    parts: tuple[PartRecord, ...]
    curves: tuple[PredictedRecord, ...]
    damping_ratios: tuple[RatioAfterRecord, ...]
    answer: Literal["in", "out", "not established"]
    notes: tuple[str, ...]
    leaves_reference: tuple[DirectionName, ...] = ()  # directions whose forces will lie outside the known-good window


class RequirementRecord(Record):
    """One thing asked of the unit. `guard_band` is how far inside its limits a value must be to be called in."""

    key: str = ""
    name: str
    answer: Literal["in", "out", "not established"]
    probability: float | None  # that the true value is within the limits; the least likely one of several
    measured: EstimateRecord | None
    limit_low: float | None
    limit_high: float | None
    guard_band: float | None
    unit: str
    basis: str


class InspectionRecord(Record):
    """What eyes and hands found, as declared."""

    answers: dict[str, str]
    against: tuple[str, ...]
    not_established: tuple[str, ...]
    notes: str | None


class CourseRecord(Record):
    """One course and its expected cost; `ruled_out` says why it is not open, whatever it costs."""

    course: CourseNameRecord
    expected_cost: EstimateRecord
    scatter: float
    days: float | None
    warranty_months: float | None
    ruled_out: str | None


class FlipRecord(Record):
    """Where one number of the cost file makes the two cheapest open courses cost the same."""

    name: str
    now: float
    breaks_even: float
    within_declared_range: bool


class CoursesRecord(Record):
    currency: str
    courses: tuple[CourseRecord, ...]
    chosen: CourseNameRecord | None
    reasons: tuple[str, ...]
    flips: tuple[FlipRecord, ...]


class VerdictRecord(Record):
    """`grounds` and `step` are what was decided; `reasons` and `next_step` are their words."""

    action: Action
    reasons: tuple[str, ...]
    next_step: str
    grounds: tuple[GroundRecord, ...] = ()
    step: str = ""


class DamperRecord(Record):
    serial: str | None
    kind: str | None
    piston_diameter_mm: float | None
    rod_diameter_mm: float | None
    oil_density_kg_m3: float | None


class Result(Record):
    """`format` changes its number when a key is renamed or dropped, which is never within a number."""

    format: Literal["dampkit-result/1"] = "dampkit-result/1"
    version: str
    damper: DamperRecord
    run: RunRecord
    quality: tuple[QualityRecord, ...]
    statics: StaticsRecord
    valve: BothValves
    lag: LagRecord
    faults: tuple[FaultRecord, ...]
    vehicle: VehicleRecord | None
    reference: tuple[ReferencePoint, ...] | None
    coverage: tuple[CoverageRecord, ...] = ()
    not_looked_for: tuple[NotLookedForRecord, ...] = ()
    verdict: VerdictRecord
    advice: AdviceRecord | None = None
    restore: tuple[RestoreRecord, ...] = ()
    oil: OilRecord | None = None
    requirements: tuple[RequirementRecord, ...] = ()
    inspection: InspectionRecord | None = None
    courses: CoursesRecord | None = None
    left_out: tuple[str, ...]
    next_tests: tuple[str, ...] = ()  # what this log cannot tell, and the cheapest test that would
    next_test: NextTestRecord | None = None  # the same as one programme; None where nothing waits for a test
    sources: tuple[str, ...]

    def to_dict(self) -> dict[str, Any]:
        """The result as plain dictionaries, lists and numbers, ready for JSON."""
        plain: dict[str, Any] = self.model_dump(mode="json")
        return plain


def json_schema() -> dict[str, Any]:
    """JSON Schema of the result, generated from the models above."""
    schema: dict[str, Any] = Result.model_json_schema(mode="serialization")
    return schema
