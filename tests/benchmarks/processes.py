"""Whole processes against each other, by turns in one run."""

from __future__ import annotations

import os
import subprocess
import sys
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from statistics import median

from tests import ONE_THREAD

DAMPKIT = [str(Path(sys.executable).with_name("dampkit"))]
# A small process between: Linux counts the size of whoever starts a process as the process's own.
METER = """
import os, sys, time
silent = [(os.POSIX_SPAWN_OPEN, 1, os.devnull, os.O_WRONLY, 0o600)]
started = time.perf_counter()
process = os.posix_spawn(sys.argv[1], sys.argv[1:], os.environ, file_actions=silent)
_, status, usage = os.wait4(process, 0)
passed = time.perf_counter() - started
print(os.waitstatus_to_exitcode(status), passed, usage.ru_utime + usage.ru_stime, usage.ru_maxrss / 1024)
"""


@dataclass(frozen=True)
class Spent:
    """Of one process: wall time, processor time, largest resident memory."""

    passed_s: float
    busy_s: float
    peak_mb: float


@dataclass(frozen=True)
class Wanted:
    """A figure that was measured, and what it was to be; `at_most` False of one that was to be as much at least."""

    name: str
    measured: float
    asked: float
    at_most: bool = True
    more: str = ""

    def line(self) -> str:
        met = self.measured <= self.asked if self.at_most else self.measured >= self.asked
        way = "at most" if self.at_most else "at least"
        verdict = "" if met else "  MISSED"
        return f"{self.name:<66} {self.measured:8.2f}   {way} {self.asked:g}{verdict}  {self.more}".rstrip()


def as_installed() -> dict[str, str]:
    """The environment of whoever has the package installed: compiled modules are kept, nobody holds libraries to one thread."""
    ours = ("PYTHONDONTWRITEBYTECODE", *ONE_THREAD)
    return {name: value for name, value in os.environ.items() if name not in ours}


def spent(words: Sequence[str]) -> Spent:
    """Run a command to its end, its output thrown away. Raises SystemExit where it fails."""
    meter = [sys.executable, "-S", "-c", METER, *words]
    status, *figures = subprocess.run(
        meter, capture_output=True, text=True, check=True, env=as_installed()
    ).stdout.split()
    if status != "0":
        raise SystemExit(f"{' '.join(words)} ended with status {status}")
    return Spent(*(float(figure) for figure in figures))


def by_turns(commands: dict[str, Sequence[str]], rounds: int) -> dict[str, list[Spent]]:
    """All commands once in each round, every other round from the last to the first; after one unmeasured go each."""
    for words in commands.values():
        spent(words)
    found: dict[str, list[Spent]] = {name: [] for name in commands}
    for i in range(rounds):
        for name in list(commands)[:: -1 if i % 2 else 1]:
            found[name].append(spent(commands[name]))
    return found


def ratio(ours: Sequence[Spent], theirs: Sequence[Spent]) -> float:
    """Median of the ratios of wall times, round by round."""
    return median(a.passed_s / b.passed_s for a, b in zip(ours, theirs, strict=True))


def beyond(ours: Sequence[Spent], theirs: Sequence[Spent]) -> float:
    """Median of the processor time spent beyond theirs, over theirs."""
    return median(a.busy_s / b.busy_s - 1 for a, b in zip(ours, theirs, strict=True))
