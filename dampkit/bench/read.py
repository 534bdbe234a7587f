"""A record of a test becomes a Run: laid out, its form told, read, turned to SI and the package's signs."""

from __future__ import annotations

from pathlib import Path

from dampkit.bench.declared import BenchSpec
from dampkit.bench.run import Run
from dampkit.bench.test import read_test


def read_run(path: str | Path, bench: str | Path | BenchSpec | None = None) -> Run:
    """A bench log in SI and the package's signs; `bench` is a bench.toml or what was read from one.

    Raises UnreadableLog naming file, line or column, and BadSettings for an unusable bench.toml.
    """
    return read_test([path], bench).run
