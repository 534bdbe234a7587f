"""The part of the result that says what to test next: steps with values, and what to keep as it was."""

from __future__ import annotations

from typing import Literal

from dampkit.outcome.record import Record


class TestStepRecord(Record):
    """One thing to do, in its turn. `do`: "run" for a stage of the bench, else what is done; `text` are its words.

    `middle_m`: of the stroke, out from the middle of this test's strokes. `turned_degrees`: of the rod, from how it was
    first fitted. `beyond`: faster than the bench has run in this test. `tells`: keys of `next_tests`. `decides`: the
    verdict waits for it.
    """

    __test__ = False

    do: str
    text: str = ""
    tells: tuple[str, ...] = ()
    decides: bool = False
    velocity_m_s: float | None = None
    stroke_m: float | None = None
    middle_m: float | None = None
    frequency_hz: float | None = None
    cycles: int | None = None
    rest_s: float | None = None
    turned_degrees: float | None = None
    beyond: bool = False


class NextTestRecord(Record):
    """The cheapest test that settles what is open. `joined`: analysed together with the records of this test, as one;
    else by itself. `top_velocity_m_s`, `stroke_m`, `temperature_c`: of this test, to be kept to.
    """

    steps: tuple[TestStepRecord, ...]
    joined: bool
    posture: Literal["upright", "lying", "inverted"] | None = None
    top_velocity_m_s: float | None = None
    stroke_m: float | None = None
    temperature_c: float | None = None
    keep: tuple[str, ...] = ()
    then: str = ""
