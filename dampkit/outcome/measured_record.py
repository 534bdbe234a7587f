"""The part of the result that holds what was measured: records read, stages, curves, gas, friction, lag, temperature."""

from typing import Annotated, Literal

from dampkit.bench.described import described
from dampkit.outcome.record import AtLeastZero, Columns, Count, EstimateRecord, Numbers, Record, example_of

LoopUse = Literal["stage", "run-up", "rest", "not used"]
Form = Literal["time-series", "loops", "table", "hand-test"]
SPEEDS, FORCES = [0.05, 0.1, 0.3], [124.0, 421.0, 1260.0]


class QualityRecord(Record):
    """One remark about how far the data or the result can be trusted."""

    code: Annotated[str, described("Name of the remark, for programs.", "no_repeat")]
    severity: Annotated[
        Literal["note", "warning", "bad"], described("How much it weighs; bad holds the verdict up.", "note")
    ]
    message: Annotated[
        str, described("The remark in a sentence.", "No speed was run twice, so drift is not established.")
    ]
    clears: Annotated[Literal["declare", "measure"], described(
        "Who can clear it: a person's word, or only another measurement.", "declare")] = "measure"  # fmt: skip


class StepRecord(Record):
    """One thing that was done to the record."""

    what: Annotated[str, described("What was done.", "time from column 'time_s'")]
    why: Annotated[str, described("Why.", "by its heading")]
    settings: Annotated[
        dict[str, float | str], described("With what figures, by name.", {"unit": "s"}, unit="that of the name")
    ]


class LoopRecord(Columns):
    """The mean loop of a stage, thinned for drawing; starts at mid-stroke moving into extension."""

    displacement_mm: Annotated[Numbers, described("Place of the rod, out above zero.", [0.0, 12.5, 25.0])]
    velocity_m_s: Annotated[Numbers, described("Speed, out above zero.", [0.3, 0.26, 0.0])]
    force_n: Annotated[Numbers, described("Force, tension above zero.", [1260.0, 1090.0, 40.0])]


class StageRecord(Record):
    """One stage: some cycles at one speed."""

    index: Annotated[Count, described("Number of the stage, from 0.", 3, unit="1")]
    peak_velocity_m_s: Annotated[AtLeastZero, described("Highest speed of the mean cycle.", 0.3)]
    stroke_m: Annotated[AtLeastZero, described("Stroke, peak to peak.", 0.05)]
    frequency_hz: Annotated[AtLeastZero, described("Cycles a second.", 1.91)]
    cycles: Annotated[Count, described("Whole cycles that were used.", 5, unit="1")]
    temperature_c: Annotated[float | None, described("Mean temperature; null without a channel of it.", 31.5)]
    rebound_peak_force_n: Annotated[float, described("Highest force in rebound, as the bench reads it.", 1295.0)]
    compression_peak_force_n: Annotated[float, described("Highest force in compression, as the bench reads it.", 402.0)]
    energy_per_cycle_j: Annotated[float, described("Area of the loop.", 51.0)]
    equivalent_damping_n_s_m: Annotated[
        float, described("Of a plain damper that takes as much energy at this stroke and speed.", 2160.0)
    ]
    loop: LoopRecord


class FileRecord(Record):
    """One record of the test."""

    file: Annotated[str, described("Name of the file.", "run.csv")]
    sha256: Annotated[str, described("SHA-256 of its bytes.", "9f86d081884c7d65")]
    form: Annotated[Form, described("Form of test that it is.", "time-series")]
    rows_read: Annotated[Count, described("Rows of numbers in it.", 40_000, unit="1")]
    rows_used: Annotated[Count, described("Rows that the analysis used.", 39_800, unit="1")]


class RowsRecord(Record):
    """What became of a stretch of rows. Every row once."""

    from_row: Annotated[int, described("First row, from 0.", 0, unit="1")]
    to_row: Annotated[int, described("First row after it.", 1250, unit="1")]
    file: Annotated[str, described("File that the rows are of.", "run.csv")]
    use: Annotated[LoopUse, described("What they were used for.", "run-up")]
    why: Annotated[str, described("Why, in words.", "coming up to a stage")]


class RunRecord(Record):
    """The test: its records, what was read of them, its stages."""

    file: Annotated[str, described("Name of the first file.", "run.csv")]
    sha256: Annotated[str, described("SHA-256 of the first file's bytes.", "9f86d081884c7d65")]
    rows_read: Annotated[Count, described("Rows of numbers in all files.", 40_000, unit="1")]
    rows_used: Annotated[Count, described("Rows that the analysis used.", 39_800, unit="1")]
    files: tuple[FileRecord, ...] = ()
    rows: tuple[RowsRecord, ...] = ()
    stages: tuple[StageRecord, ...]
    history: tuple[StepRecord, ...]


class StrokeFrictionRecord(Columns):
    """Friction at places over the stroke of the slow pass, mean of out and in."""

    displacement_mm: Annotated[Numbers, described("Place of the rod, out above zero.", [-20.0, 0.0, 20.0])]
    friction_n: Annotated[Numbers, described("Friction there.", [34.0, 31.0, 33.0])]


class StaticsRecord(Record):
    """Forces that do not hang on speed."""

    gas_force_n: Annotated[EstimateRecord | None, described(
        "Force that pushes the rod out, in the middle of the stroke; null where it cannot be told.", example_of(182.0, 176.0, 188.0))]  # fmt: skip
    friction_force_n: Annotated[EstimateRecord | None, described(
        "Friction; null where only a bound is known.", example_of(32.0, 27.0, 37.0))]  # fmt: skip
    gas_pressure_bar: Annotated[EstimateRecord | None, described(
        "Over the air, in the middle of the stroke; null without the cell's zero and the rod's size.", example_of(21.0, 20.3, 21.7))] = None  # fmt: skip
    friction_at_most_n: Annotated[float | None, described("Bound that the loops give without a valve model.", 45.0)] = (
        None
    )
    friction_over_stroke: StrokeFrictionRecord | None = None  # None without a slow pass


class CurveRecord(Columns):
    """Force against speed with its 95 % band, positive magnitudes."""

    velocity_m_s: Annotated[Numbers, described("Speeds, slow to fast.", SPEEDS)]
    force_n: Annotated[Numbers, described("Force at each.", FORCES)]
    low_n: Annotated[Numbers, described("Lower edge of the band.", [115.0, 410.0, 1240.0])]
    high_n: Annotated[Numbers, described("Upper edge of the band.", [133.0, 432.0, 1280.0])]


class PointsRecord(Columns):
    """Measured points that the curve was drawn through, gas and friction taken out."""

    velocity_m_s: Annotated[Numbers, described("Speed of each point.", SPEEDS)]
    force_n: Annotated[Numbers, described("Force of each point.", FORCES)]


class ValveRecord(Record):
    """One direction. `curve` has gas and friction taken out; `reading` is what the bench reads, friction in, gas out."""

    curve: CurveRecord | None
    reading: CurveRecord | None = None
    law: Annotated[Literal["explained", "as measured"] | None, described(
        "Whether leak, bleed and blow-off explain the curve, or it stands alone.", "explained")] = None  # fmt: skip
    points: PointsRecord | None
    bleed_area_mm2: Annotated[EstimateRecord | None, described(
        "Effective area of the bleed, discharge coefficient included.", example_of(1.92, 1.85, 1.99))]  # fmt: skip
    bleed_coefficient_n_s2_m2: Annotated[EstimateRecord | None, described(
        "Force of the bleed over the square of the speed.", example_of(42_000.0, 40_500.0, 43_500.0))]  # fmt: skip
    leak_coefficient_n_s_m: Annotated[EstimateRecord | None, described(
        "Force over speed where leakage alone carries the oil.", example_of(9_000.0, 7_500.0, 10_500.0))]  # fmt: skip
    blowoff_force_n: Annotated[
        EstimateRecord | None, described("Force at which the blow-off opens.", example_of(610.0, 590.0, 630.0))
    ]
    blowoff_velocity_m_s: Annotated[
        EstimateRecord | None, described("Speed at which it opens.", example_of(0.13, 0.125, 0.135))
    ]
    slope_above_blowoff_n_s_m: Annotated[EstimateRecord | None, described(
        "Growth of force with speed above it.", example_of(1_900.0, 1_820.0, 1_980.0))]  # fmt: skip
    reached: Annotated[tuple[Literal["leak", "bleed", "blow-off", "fully-open"], ...], described(
        "Regimes of the valve that this test reached.", ["leak", "bleed", "blow-off"])]  # fmt: skip


class BothValves(Record):
    """The valve of each direction."""

    rebound: ValveRecord
    compression: ValveRecord


class LostMotionRecord(Record):
    """Travel after a reversal that moves no oil, by the direction that begins."""

    rebound: Annotated[EstimateRecord | None, described("When rebound begins.", example_of(0.6, 0.5, 0.7), unit="mm")]
    compression: Annotated[
        EstimateRecord | None, described("When compression begins.", example_of(0.4, 0.3, 0.5), unit="mm")
    ]


class LagRecord(Record):
    """What comes late, and why."""

    lost_motion_mm: LostMotionRecord
    series_stiffness_n_m: Annotated[EstimateRecord | None, described(
        "Spring in line with the valve: bushes, oil, hoses, bench.", example_of(4.1e6, 3.8e6, 4.4e6))]  # fmt: skip
    channel_delay_s: Annotated[EstimateRecord | None, described(
        "How much later the force is logged than its place.", example_of(0.0004, 0.0002, 0.0006))]  # fmt: skip


WarmUpAction = Literal["prime", "warm", "rest", "run", "stop"]


class StageWarmthRecord(Record):
    """How warm the oil was in the middle of a stage."""

    index: Annotated[int, described("Number of the stage, from 0.", 3, unit="1")]
    oil_temperature_c: Annotated[EstimateRecord, described("Temperature of the oil.", example_of(31.5, 30.1, 32.9))]


class AtTemperatureRecord(Columns):
    """Forces of one direction brought to one temperature: friction in, gas out. Corrected values, not readings."""

    direction: Annotated[Literal["rebound", "compression"], described("Which way.", "rebound")]
    velocity_m_s: Annotated[Numbers, described("Tested speeds, slow to fast.", [0.05, 0.1, 0.3])]
    force_n: Annotated[Numbers, described("Force at each, corrected.", [124.0, 421.0, 1260.0])]
    low_n: Annotated[Numbers, described("Lower edge of its 95 % band.", [115.0, 410.0, 1240.0])]
    high_n: Annotated[Numbers, described("Upper edge of its 95 % band.", [133.0, 432.0, 1280.0])]


class FadeRecord(Record):
    """Work and force lost as the oil warmed, beside what this unit's own leak and oil make expected."""

    from_c: Annotated[float, described("Oil at the start.", 21.0)]
    to_c: Annotated[float, described("Oil at the end.", 48.0)]
    work_percent_k: Annotated[EstimateRecord, described(
        "Change of work per cycle, of a kelvin.", example_of(-0.22, -0.27, -0.17), unit="%/K")]  # fmt: skip
    expected_work_percent_k: Annotated[EstimateRecord, described(
        "The same, as expected.", example_of(-0.18, -0.24, -0.12), unit="%/K")]  # fmt: skip
    force_n_k: Annotated[EstimateRecord | None, described(
        "Change of the mean of both forces in the middle of the stroke; null of a loss within stages.", example_of(-1.4, -1.7, -1.1), unit="N/K")] = None  # fmt: skip
    expected_force_n_k: Annotated[EstimateRecord | None, described(
        "The same, as expected.", example_of(-1.1, -1.5, -0.7), unit="N/K")] = None  # fmt: skip
    velocity_m_s: Annotated[
        float | None, described("Speed of the stages compared; null of a loss within stages.", 0.1)
    ] = None


class WarmUpStepRecord(Record):
    """One step of a warm-up; what it has no figure for is null."""

    action: Annotated[WarmUpAction, described("What to do.", "warm")]
    strokes: Annotated[int | None, described("Full strokes.", 12, unit="1")] = None
    velocity_m_s: Annotated[float | None, described("Peak speed.", 0.3)] = None
    temperature_c: Annotated[float | None, described("Temperature of the body to reach, or to stop at.", 20.0)] = None
    tolerance_k: Annotated[float | None, described("How far from it is near enough.", 2.0)] = None
    wait_s: Annotated[float | None, described("How long to wait.", 120.0)] = None
    cycles_per_k: Annotated[EstimateRecord | None, described(
        "Cycles at that speed that warm this unit by a kelvin.", example_of(5.0, 3.4, 6.8), unit="1/K")] = None  # fmt: skip
    basis: Annotated[str, described("Source of the figures.", "common practice, no source")]


class WarmthRecord(Record):
    """What is known of temperature. `temperature` says whether it was measured or estimated from the work done."""

    temperature: Annotated[Literal["measured", "estimated from work"], described("How it is known.", "measured")]
    oil: Annotated[Literal["declared", "usual"], described("Whose viscosity was taken.", "usual")]
    stages: tuple[StageWarmthRecord, ...]
    reference_temperature_c: Annotated[float, described("Temperature that forces were brought to.", 20.0)]
    at_reference_temperature: tuple[AtTemperatureRecord, ...] = ()
    left_as_read: Annotated[bool, described(
        "Whether the stages differ by more than one law holds for, so that nothing was moved.", False)] = False  # fmt: skip
    fade: FadeRecord | None = None
    warm_up: tuple[WarmUpStepRecord, ...] = ()
    sentences: Annotated[tuple[str, ...], described(
        "The same in words.", ["Work per cycle changes by -0.22 % per K."])] = ()  # fmt: skip
