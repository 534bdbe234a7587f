"""Lost motion after a reversal: oil level low, aerated oil, loose mount."""

from __future__ import annotations

import numpy as np

from dampkit.curves.loop import Loop
from dampkit.damper.points import SLOW_M_S, noise_n
from dampkit.faults.finding import Finding
from dampkit.faults.judge import Case, Measure, finding

LOST_LIMIT_MM = 3.0  # common practice, no source: over 3 mm beyond the spring of oil and bushes wants investigating
PLAY_LIMIT_MM = 0.5  # common practice, no source: play that a hand feels at an eye
SLOW_BAND_M_S = 0.15  # stages up to here show a void best: little valve force hides it
READING_MM = 0.3  # standard uncertainty of a travel read off a loop, from neighbouring stages of one run
PRACTICE = "common practice, no source"


def low_oil(case: Case) -> Finding | None:
    """A void that closes at a force near friction: late force on the slow stages of one direction, less at speed.

    Aerated oil is late at every speed alike; play is late at no force; cavitation is absent slow.
    Source: own, after [dixon2007] ch. 9.
    """
    best = None
    for direction, found in case.damper.take_ups.items():
        slow = [t for t in found if t.peak_velocity_m_s <= SLOW_BAND_M_S]
        fast = [t for t in found if t.peak_velocity_m_s > SLOW_BAND_M_S]
        if not slow or not fast or _play_mm(case) > PLAY_LIMIT_MM:
            continue
        late = float(np.median([1e3 * t.half_m for t in slow]))
        at_speed = 1e3 * fast[-1].half_m
        measures = [
            Measure(
                f"travel to half force entering {direction}, slow stages",
                late,
                READING_MM,
                "mm",
                LOST_LIMIT_MM,
                PRACTICE,
            ),
            Measure(
                "the same at the fastest stage, as a share of that",
                at_speed / late if late > 0 else 1.0,
                0.1,
                "",
                0.6,
                PRACTICE,
                "below",
            ),
        ]
        sentence = f"Oil level low: about {late:.0f} mm of lost motion entering {direction} on the slow stages"
        made = finding("low_oil", measures, sentence, slow[-1].stage)
        if made and (best is None or made.likelihood > best.likelihood):
            best = made
    return best


def aerated_oil(case: Case) -> Finding | None:
    """Bubbles: a rounded, late build-up of force at every speed, fast ones included.

    Source: own, after [dixon2007] ch. 9.
    """
    for direction, found in case.damper.take_ups.items():
        if len(found) < 2 or _ceiling(case, direction):
            continue
        late = [1e3 * t.half_m for t in found]
        least = float(min(late[0], late[-1]))
        measures = [
            Measure(
                f"travel to half force entering {direction}, slowest and fastest stage alike",
                least,
                READING_MM,
                "mm",
                LOST_LIMIT_MM,
                PRACTICE,
            )
        ]
        sentence = f"Oil aerated: force builds up softly over about {np.median(late):.0f} mm entering {direction}, at every speed"
        made = finding("aerated_oil", measures, sentence, found[-1].stage)
        if made:
            return made
    return None


def loose_mount(case: Case) -> Finding | None:
    """Play: the same millimetres at no force on every stage that pulls and pushes. Source: own."""
    play = _play_mm(case)
    measures = [Measure("travel at zero force after a reversal", play, 0.1, "mm", PLAY_LIMIT_MM, PRACTICE)]
    sentence = f"Loose mount or worn bush: {play:.1f} mm of play at zero force, the same at every speed"
    return finding("loose_mount", measures, sentence, case.curves.loops[-1].stage.index)


def _ceiling(case: Case, direction: str) -> bool:
    """Late force that grows with speed and is absent slow is starving, not bubbles."""
    found = case.damper.take_ups[direction]
    return found[0].half_m < 0.3 * found[-1].half_m


def _play_mm(case: Case) -> float:
    """Median over the moving stages of the longest stretch of travel at zero force."""
    moving = [loop for loop in case.curves.loops if loop.peak_velocity_m_s >= SLOW_M_S]
    resolution = case.curves.run.force_resolution_n
    return float(np.median([1e3 * _idle_m(loop, resolution) for loop in moving])) if moving else 0.0


def _idle_m(loop: Loop, resolution_n: float) -> float:
    """Longest stretch of travel within noise of zero force, per loop: where a damper cannot be but play is."""
    force = loop.mean_force_n
    still = max(5 * noise_n(loop, resolution_n), 2 * resolution_n, 0.01 * float(np.abs(force).max()))
    idle = np.abs(force) < still
    if idle.all() or not idle.any():
        return 0.0
    start = int(np.flatnonzero(~idle)[0])
    idle, x = np.roll(idle, -start), np.roll(loop.displacement_m, -start)
    edges = np.flatnonzero(np.diff(np.concatenate([[0], idle.astype(int), [0]])))
    return max(float(np.ptp(x[a:b])) for a, b in zip(edges[::2], edges[1::2], strict=True))
