"""Measured forces held against those of a known-good unit, at the speeds that its specification names."""

from __future__ import annotations

from dataclasses import dataclass

from dampkit.damper.declared import DamperSpec
from dampkit.damper.reading import reading_at
from dampkit.damper.unit import Unit
from dampkit.damper.warmth import brought_to
from dampkit.expected.conformity import Answer, judge
from dampkit.expected.window import window
from dampkit.quantities import DIRECTIONS, Direction, Estimate


@dataclass(frozen=True)
class Compared:
    """One declared speed and direction. Forces are bench readings, friction in and gas out, N; None beyond the test."""

    direction: Direction
    velocity_m_s: float
    measured_n: Estimate | None
    wanted_n: float
    low_n: float
    high_n: float

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
            found.append(Compared(direction, float(v), read, float(wanted), float(low), float(high)))
    return tuple(found)
