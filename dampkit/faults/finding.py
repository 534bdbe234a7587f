"""What the fault room finds: typed measures held against limits, and findings that rest on them. No sentences."""

from __future__ import annotations

from typing import Literal

from dampkit.frozen import frozen
from dampkit.quantities import Direction, normal_share

Level = Literal["found", "suspected"]
Basis = Literal["published", "common practice", "own reference", "declared", "expected of this unit", "statistical"]


@frozen
class Span:
    """A piece of travel of a stage's loop, from a reversal on, that a picture can mark."""

    after: Direction  # the direction that the reversal leads into
    length_m: float


@frozen
class Measure:
    """One measured value with its standard uncertainty, its limit, and the side of the limit that is abnormal.

    `key` names what was measured (see MEASURES in `measures.py`), `unit` is as printed. `velocity_m_s`: speed at which it
    was read. `direct`: read off the loops, without a valve model.
    """

    key: str
    value: float
    uncertainty: float
    unit: str
    limit: float
    basis: Basis
    abnormal: Literal["above", "below"] = "above"
    direction: Direction | None = None
    stage: int | None = None
    velocity_m_s: float | None = None
    spans: tuple[Span, ...] = ()
    direct: bool = True
    figures: tuple[tuple[str, float], ...] = ()

    @property
    def beyond(self) -> float:
        """Probability that the true value is on the abnormal side of the limit."""
        excess = (self.value - self.limit) * (1 if self.abnormal == "above" else -1)
        return normal_share(excess / max(self.uncertainty, 1e-12))


@frozen
class Finding:
    """A cause that the test shows. `likelihood`: its share of what explains all measures together.

    `figures`: further numbers that its sentence gives, by name (SI).
    """

    code: str
    level: Level
    likelihood: float
    evidence: tuple[Measure, ...]
    direction: Direction | None = None
    stage: int | None = None  # where it shows best
    figures: tuple[tuple[str, float], ...] = ()


@frozen
class NotLookedFor:
    """A cause that this test cannot show, and the evidence it lacks (keys of NEEDS)."""

    code: str
    lacks: tuple[str, ...]
