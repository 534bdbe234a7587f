"""bench.toml: how a bench writes its logs and what is known about it. What is declared wins over every guess."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import AfterValidator, BaseModel, ConfigDict, Field, FiniteFloat

from dampkit.bench.units import UNITS, Kind, unit_named

Direction = Literal["tension", "compression"]
Way = Literal["extension", "compression"]
NotNegative = Annotated[FiniteFloat, Field(ge=0)]
Positive = Annotated[FiniteFloat, Field(gt=0)]


class Declared(BaseModel):
    """Base of everything a person declares in TOML: frozen, unknown keys refused."""

    model_config = ConfigDict(frozen=True, extra="forbid", strict=True, defer_build=True)  # built when used


def _unit_for(kind: Kind) -> AfterValidator:
    def check(text: str) -> str:
        unit = unit_named(text, kind)
        if unit is None:
            raise ValueError(f"one of {', '.join(UNITS[kind])}")
        return unit

    return AfterValidator(check)


class Log(Declared):
    """Which form of test a record is, and which sheet of a spreadsheet holds it, where the record does not tell."""

    form: Literal["time-series", "loops", "table", "hand-test"] | None = None
    sheet: str | None = None
    setting: FiniteFloat | None = None  # the one to use of a table that holds several


class Columns(Declared):
    """Header text of each channel, or `column 3` for the third one of a log without a header.

    Of closed loops: `angle`. Of a table: `rebound_force` to `compression_velocity`. Of a test by hand: the last four.
    """

    time: str | None = None
    displacement: str | None = None
    velocity: str | None = None
    force: str | None = None
    temperature: str | None = None
    angle: str | None = None
    rebound_force: str | None = None
    compression_force: str | None = None
    rebound_velocity: str | None = None
    compression_velocity: str | None = None
    direction: str | None = None
    load: str | None = None
    travel: str | None = None
    duration: str | None = None


class Units(Declared):
    time: Annotated[str, _unit_for("time")] | None = None
    displacement: Annotated[str, _unit_for("displacement")] | None = None
    velocity: Annotated[str, _unit_for("velocity")] | None = None
    force: Annotated[str, _unit_for("force")] | None = None
    temperature: Annotated[str, _unit_for("temperature")] | None = None


class Signs(Declared):
    force_positive: Direction | None = None
    displacement_positive: Way | None = None
    velocity_positive: Way | None = None


class Timing(Declared):
    """`frequency_hz` or `crank_rpm`: of closed loops without time."""

    sample_rate_hz: Positive | None = None
    force_delay_s: Annotated[FiniteFloat, Field(ge=-1, le=1)] = 0.0
    frequency_hz: Positive | None = None
    crank_rpm: Positive | None = None


class Motion(Declared):
    """The bench's drive. `stroke_mm`: peak to peak. `rod_ratio`: connecting rod over crank radius, a sine without it.

    `eye_arm_mm`: pivot to eye of a lever-arm unit, where a test by hand hung its load on an arm of another length.
    `drive`: of a loop whose rows lie at even steps of displacement.
    """

    stroke_mm: Positive | None = None
    drive: Literal["sine", "constant-speed"] | None = None
    rod_ratio: Annotated[FiniteFloat, Field(gt=1)] | None = None
    eye_arm_mm: Positive | None = None


class Zero(Declared):
    force_n: FiniteFloat | None = None


class Fixture(Declared):
    stiffness_n_mm: Positive | None = None
    moving_mass_kg: NotNegative = 0.0


class Uncertainty(Declared):
    """95 %."""

    force_percent: NotNegative | None = None
    force_n: NotNegative | None = None
    displacement_mm: NotNegative | None = None
    time_s: NotNegative | None = None  # of a test by hand


class Text(Declared):
    """How the numbers are written, where the log alone leaves it open."""

    delimiter: Literal[",", ";", "\t", "|", " "] | None = None
    decimal: Literal[".", ","] | None = None
    encoding: str | None = None


class Corrections(Declared):
    """`as_logged`: what the log itself shows of delay, moving mass and gaps is said but not taken out."""

    as_logged: bool = False


class Told(Declared):
    """What is said of one record; see `bench/told.py`."""

    frequency_hz: Positive | None = None
    crank_rpm: Positive | None = None
    stroke_mm: Positive | None = None
    temperature_c: Annotated[FiniteFloat, Field(ge=-60, le=250)] | None = None
    pressure_bar: NotNegative | None = None
    setting: str | None = None


class Files(Declared):
    """`name`: the pattern of the files' names, a part in braces for each thing said. `told`: the same by file."""

    name: str | None = None
    told: dict[str, Told] = Field(default_factory=dict)


class BenchSpec(Declared):
    log: Log = Log()
    files: Files = Files()
    columns: Columns = Columns()
    units: Units = Units()
    signs: Signs = Signs()
    timing: Timing = Timing()
    motion: Motion = Motion()
    zero: Zero = Zero()
    fixture: Fixture = Fixture()
    uncertainty: Uncertainty = Uncertainty()
    corrections: Corrections = Corrections()
    text: Text = Text()

    def used_as_logged(self, as_logged: bool) -> BenchSpec:
        """The same bench; with True, what the log shows of delay, moving mass and gaps is left in."""
        return self.model_copy(update={"corrections": Corrections(as_logged=True)}) if as_logged else self
