"""The line that says how far a long piece of work is: on a terminal alone, after three seconds, with what is left."""

from __future__ import annotations

import io
from collections.abc import Callable, Iterator

import pytest

from dampkit.app.progress import Progress, about


class Screen(io.StringIO):
    def isatty(self) -> bool:
        return True

    def lines(self) -> list[str]:
        return [line.strip() for line in self.getvalue().split("\r") if line.strip()]


def clock(step_s: float) -> Callable[[], float]:
    """A clock that goes on by so much each time it is read."""
    times: Iterator[float] = iter(step_s * n for n in range(10_000))
    return lambda: next(times)


@pytest.mark.parametrize(
    ("seconds", "text"), [(3, "5 s"), (62, "60 s"), (95, "2 min"), (3600, "60 min"), (12_000, "3 h 20 min")]
)
def test_the_time_that_is_left_is_said_roughly(seconds: float, text: str) -> None:
    assert about(seconds) == text


def test_the_forecast_counts_only_what_was_worked_on() -> None:
    progress = Progress(10, io.StringIO())
    for worked in (False, False, True, True):
        progress.step(error=worked, worked=worked)
    assert progress.line(20.0) == "4 of 10 done, 2 with errors, about 60 s left"


def test_nothing_is_said_of_short_work_or_where_nobody_looks() -> None:
    for stream, step_s in ((Screen(), 0.2), (io.StringIO(), 60.0)):
        progress = Progress(10, stream, clock=clock(step_s))
        assert list(progress.over(range(10))) == list(range(10))
        progress.end()
        assert stream.getvalue() == ""


def test_long_work_says_how_far_it_is_and_clears_its_line() -> None:
    screen = Screen()
    progress = Progress(100, screen, clock=clock(1.0))
    for _ in progress.over(range(100)):
        pass
    progress.end()
    assert screen.lines()[0] == "3 of 100 done, about 2 min left"  # a second each, 97 left
    assert screen.lines()[-1] == "100 of 100 done"
    assert screen.getvalue().endswith("\r" + " " * 70 + "\r")
    assert "\n" not in screen.getvalue()
