"""Closed loops without time: displacement or crank angle and force over one turn, at a frequency that is told."""

from __future__ import annotations

from dampkit.bench.record import Reading, Record
from dampkit.errors import UnreadableLog


def refusal(record: Record) -> str | None:
    """None where the record is of closed loops, else why not."""
    return "closed loops are not read yet"


def read(record: Record) -> tuple[Reading, ...]:
    """Raises UnreadableLog."""
    raise UnreadableLog(record.where, "closed loops are not read yet", "another form of test")
