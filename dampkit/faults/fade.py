"""Fade: work per cycle that falls as the unit works and warms. The one reading of it, for findings and requirements."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from dampkit.curves.loop import Loop
from dampkit.damper.oil import viscosity_mm2_s
from dampkit.damper.take_up import same_speed
from dampkit.damper.warmth import USUAL_OIL
from dampkit.expected.window import window
from dampkit.faults.finding import Measure
from dampkit.faults.under_test import UnderTest
from dampkit.quantities import DIRECTIONS

LIMIT_SHARE = 0.05  # least loss that is called fade; common practice, no source
GOOD_SHARE, GOOD_FROM_C, GOOD_TO_C = 0.15, 20.0, 70.0  # loss of a good unit from there to there; common practice
HEAT_J_K = 350.0  # of a small damper with its oil: none warms more by the same work; common practice, no source
LEAST_CYCLES = 6  # of which the first and the last are left out, and four are needed to tell a slope from scatter; own
LEAST_RISE_K = 2.0  # warming without which force lost is not fade; common practice, no source
RISE_ERROR_K = 0.5  # standard uncertainty of a rise of the probe; common practice
NO_STAGE = -1  # of a table's point, which has warmed nothing
COLD_STAGES = 3  # moving stages at the start of a log that have not warmed the unit yet; common practice
STEADY_SHARE = 0.01  # standard uncertainty of a loss: repeatability of work per cycle; common practice


@dataclass(frozen=True)
class Loss:
    """Share of the work per cycle lost over the run, its standard uncertainty, the share that a good unit may lose, and
    how far the unit warmed (None: unknown).
    """

    share: float
    uncertainty: float
    limit: float
    rise_k: float | None


def loss_of_work(loops: Sequence[Loop]) -> Loss | None:
    """Within stages, whose losses add up as heat does, and between stages of one speed and stroke; the larger.

    None where no stage is long enough and no speed was run twice. The first and last cycle of a stage are left out.
    Source: own, after trade practice that compares first and last loops.
    """
    within, between = _within(loops), _between(loops)
    known = [x for x in (within, between) if x is not None]
    if not known:
        return None
    share, error = max(known)
    cold_c, hot_c = _warmed(loops)
    told = sum(loop.stage.temperature_c is not None for loop in loops) > 1
    rise_k = hot_c - cold_c if told else None
    limit, doubt = good_loss(cold_c, hot_c)
    return Loss(share, float(np.linalg.norm([error, STEADY_SHARE, doubt])), limit, rise_k)


def good_loss(cold_c: float, hot_c: float) -> tuple[float, float]:
    """Share of its work that a good unit may lose between two temperatures, and the standard uncertainty of that share.

    The part of the force that goes with viscosity falls as 1 - nu(hot)/nu(cold). From 20 degC on it is such a part as
    makes the loss from 20 to 70 degC. Below, orifices may run laminar as well: a part between that and the whole force,
    each as likely. Source: [astm_d341] for the viscosity of a usual damper oil; [merritt1967] ch. 3.
    """

    def thinned(from_c: float, to_c: float) -> float:
        return 1.0 - viscosity_mm2_s(USUAL_OIL, to_c) / viscosity_mm2_s(USUAL_OIL, from_c) if to_c > from_c else 0.0

    part = GOOD_SHARE / thinned(GOOD_FROM_C, GOOD_TO_C)
    below = thinned(cold_c, min(hot_c, GOOD_FROM_C))
    above = thinned(max(cold_c, GOOD_FROM_C), hot_c)
    return max(LIMIT_SHARE, part * above + 0.5 * (1.0 + part) * below), (1.0 - part) * below / 12**0.5


def fade_measures(test: UnderTest) -> Iterator[Measure]:
    """Loss of work, the warming that goes with it, and whether the unit was short of force before it had warmed."""
    loss = loss_of_work(test.moving)
    stage = test.moving[-1].stage.index if test.moving else None
    if loss is not None:
        yield Measure("work_lost", loss.share, loss.uncertainty, "", loss.limit, "common practice", stage=stage)
        if loss.rise_k is not None:
            yield Measure("warming", loss.rise_k, RISE_ERROR_K, "K", LEAST_RISE_K, "common practice", stage=stage)
    yield from _short_when_cold(test)


def _short_when_cold(test: UnderTest) -> Iterator[Measure]:
    """Worst reading of the first stages, not warmed yet, under its window, in allowances."""
    reference = None if test.spec is None else test.spec.reference
    if reference is None:
        return
    worst: tuple[float, int] | None = None
    first = {loop.stage.index for loop in test.moving[:COLD_STAGES]} or {NO_STAGE}
    for direction in DIRECTIONS:
        w, read = window(reference, direction), test.unit.side(direction).reading
        if read is None:
            continue
        for v, force, stage in zip(read.velocity_m_s, read.force_n, read.stage, strict=True):
            if stage in first and w.velocity_m_s[0] <= 1.02 * v and v <= 1.02 * w.velocity_m_s[-1]:
                wanted, room = (float(np.interp(v, w.velocity_m_s, y)) for y in (w.wanted_n, w.allowance_n))
                short = ((wanted - float(force)) / room, stage)
                worst = short if worst is None else max(worst, short)
    if worst is not None:
        yield Measure("short_when_cold", worst[0], 0.1, "", 1.0, "own reference", stage=worst[1])


def _within(loops: Sequence[Loop]) -> tuple[float, float] | None:
    """Share lost by the slopes of log work against cycles, all stages together, and its standard uncertainty."""
    total, variance, count_of = 0.0, 0.0, 0
    for loop in loops:
        energy = loop.energy_j[1:-1]
        if energy.size < LEAST_CYCLES - 2 or energy.min() <= 0:
            continue
        count = np.arange(energy.size) - 0.5 * (energy.size - 1)
        slope = float(count @ np.log(energy) / (count @ count))
        rest = np.log(energy) - np.log(energy).mean() - slope * count
        total += slope * loop.stage.cycles
        variance += float(rest @ rest) / max(energy.size - 2, 1) / float(count @ count) * loop.stage.cycles**2
        count_of += 1
    return (1.0 - float(np.exp(total)), float(np.sqrt(variance))) if count_of else None


def _between(loops: Sequence[Loop]) -> tuple[float, float] | None:
    """Greatest share lost between two stages of one speed and stroke, later against earlier, and its uncertainty."""
    lost = [
        (1.0 - float(_middle_j(later) / _middle_j(first)), 0.0)
        for i, first in enumerate(loops)
        for later in loops[i + 1 :]
        if same_speed(later.peak_velocity_m_s, first.peak_velocity_m_s)
        and same_speed(later.stage.stroke_m, first.stage.stroke_m)
        and _middle_j(first) > 0
    ]
    return max(lost, default=None)


def _middle_j(loop: Loop) -> float:
    return float(np.median(loop.energy_j[1:] if loop.stage.cycles > 1 else loop.energy_j))


def _warmed(loops: Sequence[Loop]) -> tuple[float, float]:
    """Temperature at first and highest [degC]; without a channel from all the work that went in, no heat given off."""
    known = [loop.stage.temperature_c for loop in loops if loop.stage.temperature_c is not None]
    if known:
        return known[0], max(known)
    work_j = sum(float(loop.energy_j.mean()) * loop.stage.cycles for loop in loops)
    return GOOD_FROM_C, GOOD_FROM_C + max(work_j, 0.0) / HEAT_J_K
