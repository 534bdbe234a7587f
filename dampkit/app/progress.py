"""How far a long piece of work is, and about how long it will still take: one quiet line on a terminal, else nothing."""

from __future__ import annotations

import sys
import time
from collections.abc import Callable, Iterable, Iterator
from typing import TextIO, TypeVar

Item = TypeVar("Item")
SILENT_S, EVERY_S = 3.0, 0.5  # what is done by then needs no word; how often the line is written anew
WIDTH = 70


def about(seconds: float) -> str:
    """`40 s`, `6 min` or `3 h 20 min`: no finer than such a forecast deserves."""
    if seconds < 90:
        return f"{max(1, round(seconds / 5) * 5)} s"
    minutes = round(seconds / 60)
    if minutes < 90:
        return f"{minutes} min"
    return f"{minutes // 60} h {minutes % 60 // 10 * 10} min"


class Progress:
    """Counts what is done, and writes one line again and again where somebody looks."""

    def __init__(
        self, total: int, stream: TextIO | None = None, *, clock: Callable[[], float] = time.monotonic
    ) -> None:
        self.total, self.stream, self.clock = total, sys.stderr if stream is None else stream, clock
        self.worked, self.passed, self.errors = 0, 0, 0
        self.on_screen, self.shown = self.stream.isatty(), False
        self.started = clock()
        self.next = self.started + SILENT_S

    def step(self, error: bool = False, *, worked: bool = True, by: int = 1) -> None:
        """More is done; `worked` is False where it had been done before, which says nothing about the pace."""
        self.worked, self.passed = self.worked + by * worked, self.passed + by * (not worked)
        self.errors += error
        now = self.clock()
        if self.on_screen and now >= self.next:
            self.next = now + EVERY_S
            self._write(self.line(now - self.started))

    def over(self, things: Iterable[Item]) -> Iterator[Item]:
        """Each of them, counted when the next is asked for."""
        for thing in things:
            yield thing
            self.step()

    def line(self, elapsed_s: float) -> str:
        done = self.worked + self.passed
        parts = [f"{done} of {self.total} done", *([f"{self.errors} with errors"] if self.errors else [])]
        if self.worked and done < self.total:
            parts.append(f"about {about(elapsed_s / self.worked * (self.total - done))} left")
        return ", ".join(parts)

    def end(self) -> None:
        """The terminal's line is made free again."""
        if self.shown:
            self._write("")
            self.stream.write("\r")
            self.stream.flush()

    def _write(self, text: str) -> None:
        self.shown = True
        self.stream.write(f"\r{text:<{WIDTH}}")
        self.stream.flush()
