"""A verdict and the grounds it stands on: keys and figures, no words."""

from __future__ import annotations

from dataclasses import dataclass

from dampkit.outcome.result import Action
from dampkit.quantities import Direction

LOOK_FIRST = "look_then_set"  # the step where faults of the valve could not be looked for


@dataclass(frozen=True)
class Ground:
    """One ground of a verdict: its kind, what it is about (a code), and its figures."""

    key: str
    about: str = ""
    direction: Direction | None = None
    figures: tuple[tuple[str, float], ...] = ()


@dataclass(frozen=True)
class Verdict:
    """`step` names the next step (see the sentences of the report)."""

    action: Action
    grounds: tuple[Ground, ...]
    step: str

    @property
    def sound(self) -> bool:
        """Nothing but its setting is against the unit, and its valves were looked at: what an advice is drawn for."""
        return self.action == "adjust" and self.step != LOOK_FIRST
