"""A test by hand: a load, a travel and the time it took, a row a pull."""

from __future__ import annotations

from dampkit.bench.points import Points
from dampkit.bench.record import Record
from dampkit.errors import UnreadableLog


def refusal(record: Record) -> str | None:
    """None where the record is a test by hand, else why not."""
    return "tests by hand are not read yet"


def read(record: Record) -> tuple[Points, ...]:
    """Raises UnreadableLog."""
    raise UnreadableLog(record.where, "tests by hand are not read yet", "another form of test")
