"""A force-velocity table: a speed and the force read at it, a row a point."""

from __future__ import annotations

from dampkit.bench.points import Points
from dampkit.bench.record import Record
from dampkit.errors import UnreadableLog


def refusal(record: Record) -> str | None:
    """None where the record is a force-velocity table, else why not."""
    return "force-velocity tables are not read yet"


def read(record: Record) -> tuple[Points, ...]:
    """Raises UnreadableLog."""
    raise UnreadableLog(record.where, "force-velocity tables are not read yet", "another form of test")
