"""Air left in after a rebuild or from lying on its side: late force that clears with strokes."""

from __future__ import annotations

import numpy as np

from dampkit.curves.loop import Loop
from dampkit.faults.finding import Finding
from dampkit.faults.held_back import SIGN, held_back
from dampkit.faults.judge import PRACTICE, Case, Measure, finding, surest

CLEARS_LIMIT_MM = 1.0  # common practice, no source: up to 1 mm of lost motion is good, so a change by as much counts
READING_MM = 0.15  # standard uncertainty of a fall, besides what the cycles' scatter shows
LEAST_FORCE = 1.0  # of friction: what the valve's force must be, or its arrival is not seen
LEAST_CYCLES, MOST_CYCLES = 3, 24
STAGES = 2  # stages after the first moving one that are looked at: air goes within about a dozen strokes


def trapped_air(case: Case) -> Finding | None:
    """Late travel in the first strokes that is gone after some more, cycle by cycle.

    Held-back travel of each cycle; what it loses over the cycles of the first stages, added up.
    Source: own; trade practice says 5 to 12 full strokes clear it. Confused with low oil (stays) and bubbles (get worse
    with strokes); stages of one cycle cannot show it.
    """
    return surest([_clears(case, direction) for direction in SIGN])


def _clears(case: Case, direction: str) -> Finding | None:
    falls = [f for f in (_fall_mm(case, loop, direction) for loop in _first(case, direction)) if f is not None]
    if not falls:
        return None
    drop, spread = sum(f[0] for f in falls), float(np.sqrt(sum(f[1] ** 2 for f in falls)))
    measure = Measure(
        f"lost motion entering {direction} that went with the cycles of the first stages",
        drop, float(np.hypot(spread, READING_MM)), "mm", CLEARS_LIMIT_MM, PRACTICE,
    )  # fmt: skip
    sentence = (
        f"Air trapped: lost motion entering {direction} went down by {drop:.1f} mm within the first stages; it clears"
    )
    return finding("trapped_air", [measure], sentence, case.moving[0].stage.index)


def _first(case: Case, direction: str) -> list[Loop]:
    """The first stages of several cycles in which the valve's force stands out of friction."""
    friction = 0.0 if case.damper.friction_force_n is None else case.damper.friction_force_n.value
    seen = {h.stage for h in case.held[direction] if h.law_n > LEAST_FORCE * friction and h.wanted_share > 0.5}
    loops = [loop for loop in case.moving if loop.stage.index in seen and loop.stage.cycles >= LEAST_CYCLES]
    return [loop for loop in loops if loop.stage.index <= case.moving[0].stage.index + STAGES]


def _fall_mm(case: Case, loop: Loop, direction: str) -> tuple[float, float] | None:
    """How much the held-back travel falls over the cycles of a stage, by a straight line, and its standard uncertainty."""
    cycles = np.vstack([loop.run_in_force_n, loop.force_n])[:MOST_CYCLES]
    found = [held_back(loop, case.damper, direction, force) for force in cycles]
    at = 1e3 * np.array([h.at_m for h in found if h is not None])
    if at.size < LEAST_CYCLES:
        return None
    count = np.arange(at.size) - 0.5 * (at.size - 1)
    slope = float(count @ at / (count @ count))
    rest = at - at.mean() - slope * count
    error = float(np.sqrt(rest @ rest / (at.size - 2) / (count @ count)))
    return -slope * (at.size - 1), error * (at.size - 1)
