"""All that a measure of the fault room may look at."""

from __future__ import annotations

from functools import cached_property

from dampkit.bench.points import Points
from dampkit.bench.run import Quality, Run
from dampkit.curves.loop import Curves, Loop
from dampkit.damper.declared import DamperSpec
from dampkit.damper.kinds import Kind, KindFacts, facts_of
from dampkit.damper.points import SLOW_M_S
from dampkit.damper.unit import Unit
from dampkit.expected.differs import Differs, differs
from dampkit.expected.reference import Compared, against_reference
from dampkit.frozen import frozen
from dampkit.quantities import Direction


@frozen
class UnderTest:
    """One unit, its loops or points, what is known about it, and how it differs from its reference."""

    measured: Curves | Points
    unit: Unit
    spec: DamperSpec | None

    @property
    def kind(self) -> Kind | None:
        return None if self.spec is None else self.spec.damper.kind

    @property
    def facts(self) -> KindFacts:
        return facts_of(self.kind)

    @property
    def curves(self) -> Curves:
        """Of a log; a table or a hand test has none, and no `loops`."""
        if isinstance(self.measured, Points):
            raise TypeError(f"a {self.measured.form} has no loops")
        return self.measured

    @property
    def record(self) -> Run | Points:
        return self.measured if isinstance(self.measured, Points) else self.measured.run

    @property
    def loops(self) -> tuple[Loop, ...]:
        return () if isinstance(self.measured, Points) else self.measured.loops

    @property
    def quality(self) -> tuple[Quality, ...]:
        """Of the record, of its loops and of the unit."""
        of_loops = () if isinstance(self.measured, Points) else self.measured.quality
        return (*self.record.quality, *of_loops, *self.unit.quality)

    @cached_property
    def zero_known(self) -> bool:
        """The cell's zero is declared, and the unit does not show at rest that it is another."""
        return self.record.zero_known and all(q.code != "zero_offset" for q in self.quality)

    @cached_property
    def moving(self) -> tuple[Loop, ...]:
        """Loops faster than a slow pass, in the order they were run."""
        return tuple(loop for loop in self.loops if loop.peak_velocity_m_s >= SLOW_M_S)

    @cached_property
    def slow_pass(self) -> Loop | None:
        slow = [loop for loop in self.loops if loop.peak_velocity_m_s < SLOW_M_S]
        return slow[0] if slow else None

    @cached_property
    def compared(self) -> tuple[Compared, ...]:
        """Readings against the reference's, in its temperature; empty without one."""
        return against_reference(self.unit, self.spec) or ()

    @cached_property
    def differs(self) -> dict[Direction, Differs]:
        return differs(self.unit, self.spec)
