"""The part of the result that says what to test next: steps with values, and what to keep as it was."""

from typing import Annotated, Literal

from dampkit.bench.described import described
from dampkit.outcome.record import Record


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
