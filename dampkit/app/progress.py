"""How far a long piece of work is, and about how long it will still take."""

from __future__ import annotations

import time
from typing import TextIO

SCREEN_S, FILE_S = 0.5, 15.0  # how often to say something on a screen, and in a file


def about(seconds: float) -> str:
    """`40 s`, `6 min` or `3 h 20 min`: no finer than such a forecast deserves."""
    if seconds < 90:
        return f"{max(1, round(seconds / 5) * 5)} s"
    minutes = round(seconds / 60)
    if minutes < 90:
        return f"{minutes} min"
    return f"{minutes // 60} h {minutes % 60 // 10 * 10} min"


class Progress:
    """Writes one line again and again on a screen, and a line now and then where nobody looks."""

    def __init__(self, total: int, stream: TextIO) -> None:
        self.total, self.stream = total, stream
        self.worked, self.passed, self.errors = 0, 0, 0
        self.on_screen = stream.isatty()
        self.started = self.said = time.monotonic()

    def step(self, error: bool, worked: bool = True) -> None:
        """One more is done; `worked` is False where it had been done before, which says nothing about the pace."""
        self.worked, self.passed = self.worked + worked, self.passed + (not worked)
        self.errors += error
        now = time.monotonic()
        if now - self.said >= (SCREEN_S if self.on_screen else FILE_S):
            self.said = now
            self._write(self.line(now - self.started), end="" if self.on_screen else "\n")

    def line(self, elapsed_s: float) -> str:
        done = self.worked + self.passed
        parts = [f"{done} of {self.total} done", f"{self.errors} with errors"]
        if self.worked and done < self.total:
            parts.append(f"about {about(elapsed_s / self.worked * (self.total - done))} left")
        return ", ".join(parts)

    def end(self) -> None:
        self._write(self.line(0.0), end="\n")

    def _write(self, text: str, end: str) -> None:
        self.stream.write(f"\r{text:<70}{end}" if self.on_screen else f"{text}{end}")
        self.stream.flush()
