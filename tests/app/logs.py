"""Small made-up logs for the tests of book and batch."""

from __future__ import annotations

from pathlib import Path

from tests.bench.writer import Habit, made_run, write_log

BENCH = '[signs]\nforce_positive = "tension"\ndisplacement_positive = "extension"\n[zero]\nforce_n = {}\n'
DAMPER = '[damper]\nserial = "{}"\nkind = "monotube"\npiston_diameter_mm = 36.0\nrod_diameter_mm = 12.0\n'
QUICK = ((3.0, 4),)


def good_log(place: Path, serial: str = "A-1", zero_n: float = 0.0) -> Path:
    """A short log with its own bench and damper file beside it."""
    write_log(place, Habit(), made_run(QUICK))
    place.with_suffix(".bench.toml").write_text(BENCH.format(zero_n))
    place.with_suffix(".damper.toml").write_text(DAMPER.format(serial))
    return place


def bad_log(place: Path) -> Path:
    place.write_text("not a table at all\n")
    return place
