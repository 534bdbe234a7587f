"""A record of a test becomes a Run: laid out, its form told, read, turned to SI and the package's signs."""

from __future__ import annotations

from pathlib import Path

from dampkit.bench.declared import BenchSpec
from dampkit.bench.forms import form_of
from dampkit.bench.record import Reading, open_record
from dampkit.bench.run import Run
from dampkit.bench.test import read_test
from dampkit.bench.toml_file import declared
from dampkit.errors import UnreadableLog


def read_run(path: str | Path, bench: str | Path | BenchSpec | None = None) -> Run:
    """A bench log in SI and the package's signs; `bench` is a bench.toml or what was read from one.

    Raises UnreadableLog naming file, line or column, and BadSettings for an unusable bench.toml.
    """
    return read_test([path], bench).run


def read_log(path: str | Path, bench: str | Path | BenchSpec | None = None) -> Reading:
    """The first run of a log with how the log was understood."""
    record = open_record(Path(path), declared(bench, BenchSpec) or BenchSpec())
    found = form_of(record).read(record)[0]
    if not isinstance(found, Reading):
        raise UnreadableLog(str(path), f"this is a {found.form}: it has no run in it", "a log", "give a log")
    return found
