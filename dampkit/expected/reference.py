"""Measured forces held against those of a known-good unit, at the speeds that its specification names."""

from __future__ import annotations

import numpy as np

from dampkit.damper.declared import DamperSpec
from dampkit.damper.reading import reading_at
from dampkit.damper.unit import Unit
from dampkit.damper.warmth import brought_to
from dampkit.expected.conformity import Answer, judge
from dampkit.expected.window import window
from dampkit.frozen import frozen
from dampkit.quantities import DIRECTIONS, Direction, Estimate

SEEN_N, SEEN_SHARE = 0.5, 0.005  # a correction under both shows in no figure


@frozen
class AsRead:
    """What the bench read, and at which oil temperature, where the value compared was brought to another one."""

    force_n: float
    temperature_c: float
    corrected_to_c: float


@frozen
class Compared:
    """One declared speed and direction. Forces are bench readings, friction in and gas out, N; None beyond the test.

    `as_read` is None where the value is the reading itself.
    """

    direction: Direction
    velocity_m_s: float
    measured_n: Estimate | None
    wanted_n: float
    low_n: float
    high_n: float
    as_read: AsRead | None = None

    @property
    def answer(self) -> Answer:
        return "not established" if self.measured_n is None else judge(self.measured_n, self.low_n, self.high_n).answer


def against_reference(unit: Unit, spec: DamperSpec | None) -> tuple[Compared, ...] | None:
    """One point for each declared speed and direction; None where no reference is declared.

    The unit is brought to the reference's temperature first, where the log holds its own.
    """
    if spec is None or spec.reference is None:
        return None
    reference = spec.reference
    at = brought_to(unit, reference.temperature_c)
    found = []
    for direction in DIRECTIONS:
        w = window(reference, direction)
        for v, wanted, low, high in zip(w.velocity_m_s, w.wanted_n, w.low_n, w.high_n, strict=True):
            read = reading_at(float(v), at, direction)
            moved = None if read is None else _as_read(float(v), unit, at, direction, read)
            found.append(Compared(direction, float(v), read, float(wanted), float(low), float(high), moved))
    return tuple(found)


def _as_read(v: float, unit: Unit, at: Unit, direction: Direction, read: Estimate) -> AsRead | None:
    """The reading before it was brought to the reference's temperature; None where that moved it by nothing one sees."""
    before, reading = reading_at(v, unit, direction), unit.side(direction).reading
    if before is None or reading is None or unit.temperature_c is None or at.temperature_c is None:
        return None
    if abs(before.value - read.value) < max(SEEN_N, SEEN_SHARE * before.value):
        return None
    warm = unit.temperature_c
    if reading.temperature_c is not None:
        warm = float(np.interp(v, reading.velocity_m_s, reading.temperature_c))
    return AsRead(before.value, warm, at.temperature_c)
