"""A record of a test becomes a Run: laid out, its form told, read, turned to SI and the package's signs."""

from __future__ import annotations

from typing import TYPE_CHECKING

from dampkit.bench.run import Run
from dampkit.bench.test import Bench, read_test

if TYPE_CHECKING:
    from dampkit.bench.given import Source


def read_run(source: Source, bench: Bench = None, *, name: str | None = None) -> Run:
    """A bench log in SI and the package's signs; `bench` is a bench.toml or what was read from one.

    Raises UnreadableLog naming file, line or column, and BadSettings for an unusable bench.toml.
    """
    return read_test([source], bench, names=None if name is None else [name]).run
