"""Fade: force that falls as the unit works and warms."""

from __future__ import annotations

import numpy as np

from dampkit.curves.loop import Loop
from dampkit.faults.finding import Finding
from dampkit.faults.judge import PRACTICE, Case, Measure, finding

LIMIT_SHARE = 0.05  # common practice: 15 % from 20 to 70 degC is good, and one log seldom warms a unit by 15 K
LEAST_CYCLES = 6  # of which the first and the last are left out, and four are needed to tell a slope from scatter; own
LEAST_RISE_K = 2.0  # warming without which force lost is not fade; common practice, no source
RISE_ERROR_K = 0.5  # standard uncertainty of a rise of the probe; common practice
COLD_STAGES = 3  # moving stages at the start of a log that have not warmed the unit yet; common practice
STEADY_SHARE = 0.01  # standard uncertainty of a loss: repeatability of work per cycle; common practice


def fade(case: Case) -> Finding | None:
    """Work per cycle lost over the run: within stages, and between stages of one speed.

    The first and the last cycle of a stage are left out (start and stop). Within stages the losses add up, as heat does.
    Source: own, after trade practice that compares first and last loops; see `LIMIT_SHARE`. Confused with bubbles
    (corners cut, force late), a leak (low from the first cycle) and air that clears (work rises). Separated by the
    cycle count and a repeat of the first speed.
    """
    within, error = _within(case.moving)
    between = _between(case.moving)
    lost = max(within, between)
    measure = Measure(
        "work per cycle lost over the run", lost, float(np.hypot(error, STEADY_SHARE)), "", LIMIT_SHARE, PRACTICE
    )
    measures = [measure]
    rise = _rise_c(case.moving)
    if rise is not None:
        measures.append(Measure("warming over the run", rise, RISE_ERROR_K, "K", LEAST_RISE_K, PRACTICE))
    warm = "" if rise is None else f" while the unit warmed by {rise:.0f} degC"
    sentence = f"Fades: {100 * lost:.0f} % less work per cycle at the end of the run{warm}, loop shape kept"
    return finding("fade", measures, sentence, case.moving[-1].stage.index if case.moving else None)


def short_when_cold(case: Case) -> bool:
    """Whether the first stages, not warmed yet, already lack force against the reference: then warmth is not the cause."""
    reference = None if case.spec is None else case.spec.reference
    if reference is None or case.damper.gas_force_n is None:
        return False
    speeds = np.array(reference.velocity_m_s)
    gas = case.damper.gas_force_n.value
    for loop in case.moving[:COLD_STAGES]:
        fast = np.abs(loop.velocity_m_s) > 0.97 * loop.peak_velocity_m_s
        for sign, forces in ((1.0, reference.rebound_force_n), (-1.0, reference.compression_force_n)):
            if not speeds[0] <= loop.peak_velocity_m_s * 1.02 or loop.peak_velocity_m_s > speeds[-1] * 1.02:
                continue
            wanted = float(np.interp(loop.peak_velocity_m_s, speeds, forces))
            made = sign * float(loop.mean_force_n[fast & (sign * loop.velocity_m_s > 0)].mean()) + sign * gas
            if made < wanted - max(0.01 * reference.tolerance_percent * wanted, reference.tolerance_floor_n):
                return True
    return False


def _within(loops: tuple[Loop, ...]) -> tuple[float, float]:
    """Share lost by the slopes of log work against cycles, all stages together, and its standard uncertainty."""
    total, variance = 0.0, 0.0
    for loop in loops:
        energy = loop.energy_j[1:-1]
        if energy.size < LEAST_CYCLES - 2 or energy.min() <= 0:
            continue
        count = np.arange(energy.size) - 0.5 * (energy.size - 1)
        slope = float(count @ np.log(energy) / (count @ count))
        rest = np.log(energy) - np.log(energy).mean() - slope * count
        total += slope * loop.stage.cycles
        variance += float(rest @ rest) / max(energy.size - 2, 1) / float(count @ count) * loop.stage.cycles**2
    return 1.0 - float(np.exp(total)), float(np.sqrt(variance))


def _between(loops: tuple[Loop, ...]) -> float:
    """Greatest share lost between two stages of one speed and stroke, later against earlier."""
    lost = [0.0]
    for i, first in enumerate(loops):
        for later in loops[i + 1 :]:
            same = abs(later.peak_velocity_m_s / first.peak_velocity_m_s - 1) < 0.03
            if same and abs(later.stage.stroke_m / first.stage.stroke_m - 1) < 0.03:
                lost.append(1.0 - float(_middle_j(later) / _middle_j(first)))
    return max(lost)


def _middle_j(loop: Loop) -> float:
    return float(np.median(loop.energy_j[1:] if loop.stage.cycles > 1 else loop.energy_j))


def _rise_c(loops: tuple[Loop, ...]) -> float | None:
    known = [loop.stage.temperature_c for loop in loops if loop.stage.temperature_c is not None]
    return max(known) - known[0] if len(known) > 1 else None
