"""A record read alone, with how it was understood."""

from __future__ import annotations

from pathlib import Path

from dampkit.bench.declared import BenchSpec
from dampkit.bench.record import Reading
from dampkit.bench.test import open_test


def read_log(path: str | Path, bench: str | Path | BenchSpec | None = None) -> Reading:
    """The first run of a log."""
    found = open_test([path], bench)[0][0]
    assert isinstance(found, Reading)
    return found
