"""bench.toml: how a bench writes its logs and what is known about it. What is declared wins over every guess."""

from typing import Annotated, Literal, Self

from pydantic import AfterValidator, BaseModel, ConfigDict, Field, FiniteFloat

from dampkit.bench.described import described, with_units
from dampkit.bench.units import UNITS, Kind, unit_named

Direction = Literal["tension", "compression"]
Way = Literal["extension", "compression"]
NotNegative = Annotated[FiniteFloat, Field(ge=0)]
Positive = Annotated[FiniteFloat, Field(gt=0)]
LOGS, LOOPS, POINTS = ("time-series",), ("loops",), ("table", "hand-test")  # forms of test, for which a key matters
TABLE, BY_HAND = ("table",), ("hand-test",)
ROWS = (*LOGS, *LOOPS)
IN_THE_FILE = "Open the record and copy the heading, letter by letter."


class Declared(BaseModel):
    """Base of everything a person declares in TOML: frozen, unknown keys refused."""

    model_config = ConfigDict(
        frozen=True, extra="forbid", strict=True, defer_build=True, json_schema_extra=with_units
    )  # built when used


def _unit_for(kind: Kind) -> AfterValidator:
    def check(text: str) -> str:
        unit = unit_named(text, kind)
        if unit is None:
            raise ValueError(f"one of {', '.join(UNITS[kind])}")
        return unit

    return AfterValidator(check)


def _unit_words(kind: Kind, example: str, kinds: tuple[str, ...] = ()) -> object:
    how = "See the heading, the bench's settings or its manual."
    return described(f"Unit of {kind}, where no heading says it: {', '.join(UNITS[kind])}.", example, how, kinds=kinds)


class Log(Declared):
    """Which form of test a record is, and which sheet of a spreadsheet holds it, where the record does not tell."""

    form: Annotated[Literal["time-series", "loops", "table", "hand-test"] | None, described(
        "What a row of the record is: a moment, a place on a closed loop, a speed with its force, a pull by hand.",
        "time-series", "Look at a few rows: do they follow the rod through its stroke, or is each one a test?")] = None  # fmt: skip
    sheet: Annotated[str | None, described(
        "Sheet of a spreadsheet that holds the record.", "Run 3", "Read the tab at the foot of the spreadsheet.")] = None  # fmt: skip
    setting: Annotated[FiniteFloat | None, described(
        "The one setting to use of a table that holds several.", 4.0,
        "Take the number in the column of clicks or settings, for the setting that you judge.", unit="1", kinds=TABLE)] = None  # fmt: skip


class Columns(Declared):
    """Header text of each channel, or `column 3` for the third one of a log without a header."""

    time: Annotated[str | None, described("Heading of the time.", "Time [s]", IN_THE_FILE, kinds=LOGS)] = None
    displacement: Annotated[
        str | None, described("Heading of the rod's place.", "Travel [mm]", IN_THE_FILE, kinds=ROWS)
    ] = None
    velocity: Annotated[str | None, described(
        "Heading of the speed.", "Speed [m/s]", IN_THE_FILE, kinds=(*LOGS, *TABLE))] = None  # fmt: skip
    force: Annotated[str | None, described(
        "Heading of the force.", "Force [N]", IN_THE_FILE, kinds=(*ROWS, *TABLE))] = None  # fmt: skip
    temperature: Annotated[str | None, described(
        "Heading of the temperature of oil or body.", "Temp [degC]", IN_THE_FILE, kinds=(*ROWS, *TABLE))] = None  # fmt: skip
    angle: Annotated[str | None, described(
        "Heading of the crank's angle, in place of displacement.", "Angle [deg]", IN_THE_FILE, kinds=LOOPS)] = None  # fmt: skip
    rebound_force: Annotated[str | None, described(
        "Heading of the force in rebound, where each direction has a column.", "Rebound", IN_THE_FILE, kinds=TABLE)] = None  # fmt: skip
    compression_force: Annotated[str | None, described(
        "Heading of the force in compression, where each direction has a column.", "Bump", IN_THE_FILE, kinds=TABLE)] = None  # fmt: skip
    rebound_velocity: Annotated[str | None, described(
        "Heading of the speed in rebound, where each direction has its own.", "V rebound", IN_THE_FILE, kinds=TABLE)] = None  # fmt: skip
    compression_velocity: Annotated[str | None, described(
        "Heading of the speed in compression, where each direction has its own.", "V bump", IN_THE_FILE, kinds=TABLE)] = None  # fmt: skip
    direction: Annotated[str | None, described(
        "Heading of the direction of each pull.", "Direction", IN_THE_FILE, kinds=POINTS)] = None  # fmt: skip
    load: Annotated[str | None, described(
        "Heading of the weight hung on the unit.", "Load kg", IN_THE_FILE, kinds=BY_HAND)] = None  # fmt: skip
    travel: Annotated[str | None, described(
        "Heading of the travel that was timed.", "Travel mm", IN_THE_FILE, kinds=BY_HAND)] = None  # fmt: skip
    duration: Annotated[str | None, described(
        "Heading of the time that the travel took.", "Time s", IN_THE_FILE, kinds=BY_HAND)] = None  # fmt: skip


class Units(Declared):
    """Unit of each channel, where the heading gives none."""

    time: Annotated[Annotated[str, _unit_for("time")] | None, _unit_words("time", "ms", (*LOGS, *BY_HAND))] = None
    displacement: Annotated[
        Annotated[str, _unit_for("displacement")] | None, _unit_words("displacement", "mm", (*ROWS, *BY_HAND))
    ] = None
    velocity: Annotated[
        Annotated[str, _unit_for("velocity")] | None, _unit_words("velocity", "mm/s", (*LOGS, *TABLE))
    ] = None
    force: Annotated[Annotated[str, _unit_for("force")] | None, _unit_words("force", "kN")] = None
    temperature: Annotated[Annotated[str, _unit_for("temperature")] | None, _unit_words("temperature", "degC")] = None


class Signs(Declared):
    """Which way the readings count."""

    force_positive: Annotated[Direction | None, described(
        "What a force above zero is.", "tension", "Pull the rod out by hand: does the force go up (tension) or down?", kinds=ROWS)] = None  # fmt: skip
    displacement_positive: Annotated[Way | None, described(
        "Which way the rod's place counts up.", "extension", "Pull the rod out by hand: does the reading go up (extension) or down?", kinds=ROWS)] = None  # fmt: skip
    velocity_positive: Annotated[Way | None, described(
        "Which way a speed above zero is; as displacement where it is left out.", "extension",
        "See whether the speed is above zero while the rod comes out.", kinds=LOGS)] = None  # fmt: skip


class Timing(Declared):
    """How fast the record was taken, and how fast the crank turned where the record has no time."""

    sample_rate_hz: Annotated[Positive | None, described(
        "Rows a second, where there is no column of time.", 1000.0, "Read it off the logger's settings.",
        kinds=LOGS, usual=(20, 50_000))] = None  # fmt: skip
    force_delay_s: Annotated[Annotated[FiniteFloat, Field(ge=-1, le=1)], described(
        "How much later the force is logged than the place it belongs to.", 0.0,
        "Run a steel spring on the bench: the delay is what closes its loop to a line.", kinds=LOGS, usual=(-0.02, 0.02))] = 0.0  # fmt: skip
    frequency_hz: Annotated[Positive | None, described(
        "Turns of the crank a second, of closed loops without time.", 1.5, "Time ten strokes out and in, and divide ten by it.",
        kinds=LOOPS, usual=(0.01, 30))] = None  # fmt: skip
    crank_rpm: Annotated[Positive | None, described(
        "The same in turns a minute.", 90.0, "Read the drive's display, or count the turns of a minute.",
        kinds=LOOPS, usual=(0.5, 1800))] = None  # fmt: skip


class Motion(Declared):
    """The bench's drive."""

    stroke_mm: Annotated[Positive | None, described(
        "Stroke, peak to peak: twice the crank's radius.", 50.0, "Measure from the rod's inner to its outer turn.",
        kinds=(*LOOPS, *POINTS), usual=(2, 400), odd="Peak to peak, in millimetres?")] = None  # fmt: skip
    drive: Annotated[Literal["sine", "constant-speed"] | None, described(
        "How the bench moves, of a loop whose rows lie at even steps of displacement.", "sine",
        "A crank gives a sine; a screw or a hydraulic ram at a set speed gives constant-speed.", kinds=LOOPS)] = None  # fmt: skip
    rod_ratio: Annotated[Annotated[FiniteFloat, Field(gt=1)] | None, described(
        "Length of the connecting rod over the crank's radius; a pure sine without it.", 4.0,
        "Measure the connecting rod between its pins, and divide by half of the stroke.", kinds=LOOPS, usual=(2, 20),
        odd="Rod over crank radius, not over the stroke?")] = None  # fmt: skip
    eye_arm_mm: Annotated[Positive | None, described(
        "Pivot to the arm's end, of a record in torque and angle, or where a load by hand hung on an arm of another length.", 160.0,
        "Measure along the arm, from the middle of the shaft to the middle of the eye.", usual=(60, 400))] = None  # fmt: skip


class Zero(Declared):
    """The cell's zero. Left out it is unknown, and gas force cannot be told from it."""

    force_n: Annotated[FiniteFloat | None, described(
        "What the cell reads with nothing fitted.", 0.0, "Take the damper out, log for a few seconds, and write down the mean force.",
        kinds=(*ROWS, *TABLE), usual=(-500, 500))] = None  # fmt: skip


class Fixture(Declared):
    """What is between cell and damper."""

    stiffness_n_mm: Annotated[Positive | None, described(
        "Flex of bench and fixings in line with the damper.", 6000.0,
        "Fit a solid bar for the damper, load it, and divide the force by the travel that the bench shows.", kinds=ROWS,
        usual=(300, 200_000))] = None  # fmt: skip
    moving_mass_kg: Annotated[NotNegative, described(
        "Mass that moves between cell and damper.", 0.6, "Weigh the clevis, the pin and whatever else moves on the cell's side.",
        kinds=ROWS, usual=(0, 20))] = 0.0  # fmt: skip


class Uncertainty(Declared):
    """How far the bench may be off, as 95 % limits."""

    force_percent: Annotated[NotNegative | None, described(
        "Of the force, in proportion.", 0.5, "Take it from the cell's calibration sheet.", usual=(0.02, 10))] = None  # fmt: skip
    force_n: Annotated[NotNegative | None, described(
        "Of the force, whatever its size.", 2.0, "Hang a known weight on the cell a few times, and take the largest miss.",
        usual=(0.05, 200))] = None  # fmt: skip
    displacement_mm: Annotated[NotNegative | None, described(
        "Of the rod's place.", 0.02, "Check the travel against a dial gauge at a few places.", kinds=ROWS, usual=(0.001, 2))] = None  # fmt: skip
    time_s: Annotated[NotNegative | None, described(
        "Of a time taken by hand.", 0.2, "Time the same pull five times, and take the largest miss.", kinds=BY_HAND, usual=(0.02, 2))] = None  # fmt: skip


class Text(Declared):
    """How the numbers are written, where the log alone leaves it open."""

    delimiter: Annotated[Literal[",", ";", "\t", "|", " "] | None, described(
        "What stands between two columns.", ";", "Open the record in a plain text editor and look.")] = None  # fmt: skip
    decimal: Annotated[Literal[".", ","] | None, described(
        "The decimal mark.", ",", "Open the record in a plain text editor and look.")] = None  # fmt: skip
    encoding: Annotated[str | None, described(
        "Name of the text's encoding.", "utf-8", "See the logger's settings; an old one often writes cp1252.")] = None  # fmt: skip


class Corrections(Declared):
    """What may be taken out of the readings."""

    as_logged: Annotated[bool, described(
        "Say what the log itself shows of delay, moving mass and gaps, but leave it in.", False,
        "Leave it out, unless you want the readings untouched.", kinds=ROWS)] = False  # fmt: skip


class Told(Declared):
    """What is said of one record, by the name of its file."""

    frequency_hz: Annotated[Positive | None, described(
        "Turns of the crank a second.", 1.5, "Time ten strokes out and in, and divide ten by it.", usual=(0.01, 30))] = None  # fmt: skip
    crank_rpm: Annotated[Positive | None, described(
        "Turns of the crank a minute.", 90.0, "Read the drive's display.", usual=(0.5, 1800))] = None  # fmt: skip
    stroke_mm: Annotated[Positive | None, described(
        "Stroke, peak to peak.", 50.0, "Measure from the rod's inner to its outer turn.", usual=(2, 400),
        odd="Peak to peak, in millimetres?")] = None  # fmt: skip
    temperature_c: Annotated[Annotated[FiniteFloat, Field(ge=-60, le=250)] | None, described(
        "How warm the unit was, where the record does not tell.", 22.0, "Hold a probe to the body over the piston.", usual=(-20, 150))] = None  # fmt: skip
    pressure_bar: Annotated[NotNegative | None, described(
        "Gas pressure at the test, over the air.", 20.0, "Read the gauge at the filling valve.", usual=(0, 60))] = None  # fmt: skip
    setting: Annotated[str | None, described(
        "How the adjuster stood.", "4 clicks", "Count the clicks from fully closed.")] = None  # fmt: skip


class Files(Declared):
    """What the names of the records say, and what is told of single ones."""

    name: Annotated[str | None, described(
        "Pattern of the files' names, a part in braces for each thing said.", "{unit}_{frequency_hz}Hz_{temperature_c}C.csv",
        "Take a name apart: what stands where?")] = None  # fmt: skip
    told: Annotated[dict[str, Told], described(
        "The same for single records, by the name of the file.", {"slow.csv": {"crank_rpm": 6.0}},
        "Write down what was set on the bench for this file.")] = Field(default_factory=dict)  # fmt: skip


class BenchSpec(Declared):
    """How a bench writes its logs and what is known about it; each key wins over what would be guessed."""

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

    def used_as_logged(self, as_logged: bool) -> Self:
        """The same bench; with True, what the log shows of delay, moving mass and gaps is left in."""
        return self.model_copy(update={"corrections": Corrections(as_logged=True)}) if as_logged else self
