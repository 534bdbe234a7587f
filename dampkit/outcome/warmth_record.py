"""The part of the result that holds temperature: of the oil by stage, forces brought to one, fade, and how to warm up."""

from typing import Annotated, Literal

from dampkit.bench.described import described
from dampkit.outcome.record import Columns, EstimateRecord, Numbers, Record, example_of

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
