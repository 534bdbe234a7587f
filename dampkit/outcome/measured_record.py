"""The part of the result that holds what was measured: records read, stages, curves, gas, friction and lag."""

from __future__ import annotations

from typing import Literal

from dampkit.outcome.record import Columns, Record

LoopUse = Literal["stage", "run-up", "rest", "not used"]
Form = Literal["time-series", "loops", "table", "hand-test"]


class EstimateRecord(Record):
    value: float
    low: float
    high: float


class QualityRecord(Record):
    code: str
    severity: Literal["note", "warning", "bad"]
    message: str
    clears: Literal["declare", "measure"] = "measure"  # by a person's word, or only by another measurement


class StepRecord(Record):
    what: str
    why: str
    settings: dict[str, float | str]


class LoopRecord(Columns):
    """The mean loop of a stage, thinned for drawing; starts at mid-stroke moving into extension."""

    displacement_mm: tuple[float, ...]
    velocity_m_s: tuple[float, ...]
    force_n: tuple[float, ...]


class StageRecord(Record):
    index: int
    peak_velocity_m_s: float
    stroke_m: float
    frequency_hz: float
    cycles: int
    temperature_c: float | None
    rebound_peak_force_n: float
    compression_peak_force_n: float
    energy_per_cycle_j: float
    equivalent_damping_n_s_m: float
    loop: LoopRecord


class FileRecord(Record):
    """One record of the test."""

    file: str
    sha256: str
    form: Form
    rows_read: int
    rows_used: int


class RowsRecord(Record):
    """What became of a stretch of rows, counted from 0; `to_row` is the first row after it. Every row once."""

    from_row: int
    to_row: int
    file: str
    use: LoopUse
    why: str


class RunRecord(Record):
    file: str
    sha256: str
    rows_read: int
    rows_used: int
    files: tuple[FileRecord, ...] = ()
    rows: tuple[RowsRecord, ...] = ()
    stages: tuple[StageRecord, ...]
    history: tuple[StepRecord, ...]


class StrokeFrictionRecord(Columns):
    """Friction at places over the stroke of the slow pass, mean of out and in."""

    displacement_mm: tuple[float, ...]
    friction_n: tuple[float, ...]


class StaticsRecord(Record):
    """`gas_pressure_bar`: over the air, in the middle of the stroke; None without the cell's zero and the rod's size."""

    gas_force_n: EstimateRecord | None
    friction_force_n: EstimateRecord | None
    gas_pressure_bar: EstimateRecord | None = None
    friction_at_most_n: float | None = None  # bound that the loops give without a valve model
    friction_over_stroke: StrokeFrictionRecord | None = None  # None without a slow pass


class CurveRecord(Columns):
    """Hydraulic force against speed, positive magnitudes; gas force and friction taken out."""

    velocity_m_s: tuple[float, ...]
    force_n: tuple[float, ...]
    low_n: tuple[float, ...]
    high_n: tuple[float, ...]


class PointsRecord(Columns):
    velocity_m_s: tuple[float, ...]
    force_n: tuple[float, ...]


class ValveRecord(Record):
    """`reading`: what the bench reads at the tested speeds, friction in, gas out, without a model.

    `law`: "explained" where leak, bleed and blow-off explain the curve; "as measured" where the curve stands alone.
    """

    curve: CurveRecord | None
    reading: CurveRecord | None = None
    law: Literal["explained", "as measured"] | None = None
    points: PointsRecord | None
    bleed_area_mm2: EstimateRecord | None
    bleed_coefficient_n_s2_m2: EstimateRecord | None
    leak_coefficient_n_s_m: EstimateRecord | None
    blowoff_force_n: EstimateRecord | None
    blowoff_velocity_m_s: EstimateRecord | None
    slope_above_blowoff_n_s_m: EstimateRecord | None
    reached: tuple[Literal["leak", "bleed", "blow-off", "fully-open"], ...]


class BothValves(Record):
    rebound: ValveRecord
    compression: ValveRecord


class LostMotionRecord(Record):
    rebound: EstimateRecord | None
    compression: EstimateRecord | None


class LagRecord(Record):
    lost_motion_mm: LostMotionRecord
    series_stiffness_n_m: EstimateRecord | None
    channel_delay_s: EstimateRecord | None
