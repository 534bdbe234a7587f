"""Oil level low, and oil full of bubbles: force that arrives late after a reversal although it is slow."""

from __future__ import annotations

from dataclasses import replace
from typing import Literal

import numpy as np

from dampkit.damper.areas import working_area_m2
from dampkit.faults.finding import Finding
from dampkit.faults.held_back import HeldBack
from dampkit.faults.judge import PRACTICE, SUSPECTED, Case, Measure, finding, surest
from dampkit.faults.play import PLAY_LIMIT_MM, play_mm

LATE_LIMIT_MM = 3.0  # common practice, no source: over 3 mm beyond spring and bushes wants investigating
SLOW_BAND_M_S = 0.15  # stages up to here show a void best: little force, so springs and delays hide nothing
OTHER_LIMIT_MM = 0.3  # own: what bush and clean oil give at slow speed in the other direction ...
OTHER_LIMIT_RATIO = 0.03  # ... and what of a void in one chamber shows in the other; study of made-up units
SPRING_MM_N = 5e-4  # own: give of bush and oil column of a soft unit, 2 MN/m; it is no gas
READING_MM = 0.25  # standard uncertainty of a late travel, from neighbouring stages of one run
HELD_MM = 0.1  # the same of a held-back travel
LEAST_FORCE = 0.3  # of friction: half of the valve's force must be as much, or its arrival is not seen
OTHER = {"rebound": "compression", "compression": "rebound"}


def low_oil(case: Case) -> Finding | None:
    """A void under the piston: force stands near nothing after one reversal, slow stages too, then arrives.

    The chamber that the reserve should refill has drawn gas. Travel until half of the valve's force, beyond what the
    valve alone takes, on the slow stages; the other direction takes up at once.
    Source: own, after [dixon2007] ch. 9 and workshop manuals that forbid a flat at the changeover. Confused with
    bubbles (late both ways), air after a rebuild (clears with strokes), a starved refill valve (absent slow) and play
    (at no force): each has its own measure, and is looked at first. In a lever-arm unit both chambers draw from the
    same reserve, so a low level and bubbles look alike: both are suspected there, and a shorter stroke would tell.
    """
    return surest([_low_oil(case, direction) for direction in OTHER])


def aerated_oil(case: Case) -> Finding | None:
    """Bubbles all through the oil: force builds up softly after both reversals, slow and fast.

    Source: own, from the volume of oil with bubbles under pressure, [merritt1967] ch. 2. Confused with a void (one
    direction), and not seen at all in a charged damper, where the gas pressure keeps bubbles small.
    """
    return surest([_aerated(case, direction) for direction in OTHER])


def _low_oil(case: Case, direction: str) -> Finding | None:
    late, measures = late_mm(case, direction), _late_and_other(case, direction, "below")
    if late is None or not measures:
        return None
    return _made("low_oil", case, direction, measures, _sentence(case, direction, late))


def _aerated(case: Case, direction: str) -> Finding | None:
    late, measures = late_mm(case, direction), _late_and_other(case, direction, "above")
    if late is None or not measures:
        return None
    sentence = f"Oil aerated: force builds up softly over {late[0]:.0f} mm entering {direction}, and in the other direction too"
    return _made("aerated_oil", case, direction, measures, sentence)


def _late_and_other(case: Case, direction: str, faulty: Literal["above", "below"]) -> list[Measure]:
    late, other = late_mm(case, direction), other_mm(case, direction)
    if late is None or other is None:
        return []
    limit = OTHER_LIMIT_MM + OTHER_LIMIT_RATIO * max(late[0], 0.0)
    return [
        Measure(f"late travel entering {direction}, slow stages", *late, "mm", LATE_LIMIT_MM, PRACTICE),
        Measure(
            f"held-back travel entering {OTHER[direction]}, slow stages", *other, "mm", limit, "statistical", faulty
        ),
    ]


def _made(code: str, case: Case, direction: str, measures: list[Measure], sentence: str) -> Finding | None:
    """The finding; in a lever-arm unit that is late both ways only a suspicion, of level and bubbles alike."""
    stage = _slow(case, direction)[-1].stage
    if case.kind != "lever-arm":
        return finding(code, measures, sentence, stage)
    alone = finding(code, measures[:1], sentence, stage)
    if alone is None or alone.level == "suspected" or (code == "low_oil" and measures[1].beyond > SUSPECTED):
        return alone if code == "low_oil" or alone is None else finding(code, measures, sentence, stage)
    words = sentence + " (level or bubbles: a shorter stroke would tell)"
    return replace(
        alone, level="suspected", likelihood=0.5, sentence=words, evidence=tuple(m.evidence for m in measures)
    )


def _sentence(case: Case, direction: str, late: tuple[float, float]) -> str:
    area = working_area_m2(case.spec, direction)
    text = f"Oil level low: {late[0]:.0f} mm of lost motion entering {direction}, slow stages included"
    if area is None:
        return text + " (declare piston and rod diameter for the volume)"
    ml, half = 1e3 * area * late[0], 1.96 * 1e3 * area * late[1]
    return text + f"; about {ml:.1f} ml of gas in the working chamber ({max(ml - half, 0):.1f} to {ml + half:.1f} ml)"


def late_mm(case: Case, direction: str) -> tuple[float, float] | None:
    """Late travel of the slow stages less play, with its standard uncertainty [mm]; None where no stage shows it."""
    slow = _slow(case, direction)
    if not slow:
        return None
    found = np.array([1e3 * h.half_m for h in slow]) - _play(case)
    return float(found.mean()), READING_MM / found.size**0.5 + 0.05 * abs(float(found.mean()))


def other_mm(case: Case, direction: str) -> tuple[float, float] | None:
    """Held-back travel entering the other direction on slow stages less spring and play, with its uncertainty [mm]."""
    found = [h for h in case.held[OTHER[direction]] if h.peak_velocity_m_s <= SLOW_BAND_M_S][:2]
    if not found:
        return None
    held = [1e3 * h.at_m - SPRING_MM_N * max(h.law_n, 0.0) for h in found]
    return float(np.mean(held)) - _play(case), HELD_MM


def _slow(case: Case, direction: str) -> list[HeldBack]:
    """Slow stages whose valve force stands out of friction, the first of each speed: a hot repeat has other gas force."""
    friction = 0.0 if case.damper.friction_force_n is None else case.damper.friction_force_n.value
    seen = [h for h in case.held[direction] if 0.5 * h.law_n > LEAST_FORCE * friction]
    cold: list[HeldBack] = []
    for h in seen:
        again = any(abs(h.peak_velocity_m_s / c.peak_velocity_m_s - 1) < 0.03 for c in cold)
        if h.peak_velocity_m_s <= SLOW_BAND_M_S and not again:
            cold.append(h)
    return cold


def _play(case: Case) -> float:
    play = play_mm(case)
    return play[0] if play and play[0] > PLAY_LIMIT_MM else 0.0
