"""Fade: work per cycle that falls as the unit warms, held against what its own oil and leak make of that warming.

The one reading of it, for findings, requirements and the record.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np

from dampkit.curves.loop import Loop
from dampkit.damper.reading import middle_of
from dampkit.damper.take_up import same_speed
from dampkit.damper.unit import Unit
from dampkit.damper.valve import Valve
from dampkit.damper.warmth import LEAK_NOT_SEEN, at_temperature, passes_more, with_leak_share
from dampkit.expected.window import window
from dampkit.faults.finding import Measure
from dampkit.faults.under_test import UnderTest
from dampkit.frozen import frozen
from dampkit.quantities import DIRECTIONS, SIGN, Direction, median

LIMIT_SHARE = 0.05  # least loss beyond what is expected that is called fade; common practice, no source
MOST_LEAK = 0.2  # of the flow at 20 degC that a sound unit's clearances and narrow passages pass; own choice
LEAK_AT_C = 20.0
LEAST_CYCLES = 6  # of which the first and the last are left out, and four are needed to tell a slope from scatter; own
LEAST_RISE_K = 2.0  # warming without which force lost is not fade; common practice, no source
NO_STAGE = -1  # of a table's point, which has warmed nothing
COLD_STAGES = 3  # moving stages at the start of a log that have not warmed the unit yet; common practice
STEADY_SHARE = 0.01  # standard uncertainty of a loss: repeatability of work per cycle; common practice
THIN = 8  # every so manieth point of a loop, for work by the law


@frozen
class Warming:
    """One loop's oil from one temperature to another [degC]; `rise_k` with its standard uncertainty."""

    loop: Loop
    from_c: float
    to_c: float
    rise_k: float
    rise_error_k: float


@frozen
class Loss:
    """Share of the work per cycle lost and the share that this unit's oil and leak make expected, each with its standard
    uncertainty. `warmings`: over which.
    """

    share: float
    uncertainty: float
    expected_share: float
    expected_uncertainty: float
    warmings: tuple[Warming, ...]
    later: Loop | None = None  # the loop compared with that of the one warming; None of a loss within stages

    @property
    def limit(self) -> float:
        return self.expected_share + LIMIT_SHARE

    @property
    def doubt(self) -> float:
        """Standard uncertainty of the loss beyond what is expected."""
        return float(np.hypot(self.uncertainty, self.expected_uncertainty))

    @property
    def rise_k(self) -> tuple[float, float]:
        return sum(w.rise_k for w in self.warmings), sum(w.rise_error_k for w in self.warmings)


def loss_of_work(unit: Unit, loops: Sequence[Loop]) -> Loss | None:
    """Within stages, whose losses add up as heat does, and between stages of one speed and stroke; what is most beyond
    what is expected.

    None where no stage is long enough and no speed was run twice, or no law says what to expect. The first and last cycle of
    a stage are left out. Source: own, after trade practice that compares first and last loops. Worked out once a unit.
    """
    key = "loss of work", *(loop.stage.index for loop in loops)
    if key not in unit.known:
        unit.known[key] = _most_lost(unit, loops)
    known: Loss | None = unit.known[key]
    return known


def _most_lost(unit: Unit, loops: Sequence[Loop]) -> Loss | None:
    if unit.heat is None or any(side.law is None for side in unit.sides):
        return None
    found = [loss for loss in (_within(unit, loops), *_between(unit, loops)) if loss is not None]
    return max(found, key=lambda loss: loss.share - loss.expected_share, default=None)


def expected_loss(unit: Unit, warming: Warming) -> tuple[float, float]:
    """Share of a loop's work that this unit's oil and leak cost over a warming, and its standard uncertainty.

    The law's leak goes with viscosity, its orifices with density. A leak larger than a sound unit has is not taken as its own;
    where the fit tells none apart there may be one all the same, where the law does not explain the force there may be none. Unsure: the oil, the warming, the leak, and how far narrow
    passages run laminar, from not at all to the longest ones, each as likely. Source: [merritt1967] ch. 3; [astm_d341].
    """
    least, most = (_by_law(unit, warming, warming.to_c, leaky=leaky) for leaky in (False, True))
    expected = 0.5 * (least + most)
    warmer = _by_law(unit, warming, warming.to_c + warming.rise_error_k, leaky=True)
    laminar = _by_law(unit, warming, warming.to_c, leaky=True, narrow=True)
    apart = (most - least) / 12**0.5, (laminar - most) / 3**0.5  # anywhere between; from short ones, which are taken
    return expected, float(np.linalg.norm([unit.oil.unsure_share * expected, warmer - most, *apart]))


def _by_law(unit: Unit, warming: Warming, to_c: float, *, leaky: bool, narrow: bool = False) -> float:
    """Share of a loop's work lost between two temperatures by the law; with what leak it may have besides if `leaky`, with
    the longest passages if `narrow`."""
    cold_j = warm_j = 2.0 * unit.friction_used_n * warming.loop.stage.stroke_m
    peak = warming.loop.peak_velocity_m_s
    for direction, area_m2 in zip(DIRECTIONS, unit.oil.area_m2, strict=True):
        cold = at_temperature(_sound(unit, direction, peak, leaky), LEAK_AT_C, warming.from_c, unit.oil)
        ratio = (
            passes_more(0.5 * cold.force(np.array([peak])), area_m2, warming.from_c, to_c, unit.oil) if narrow else 1.0
        )
        cold_j += _work_j(cold, warming.loop, direction)
        warm_j += _work_j(at_temperature(cold, warming.from_c, to_c, unit.oil, ratio), warming.loop, direction)
    return 1.0 - warm_j / cold_j if cold_j > 0 else 0.0


@frozen
class ForceLost:
    """By how much the mean of both forces fell in the middle of the stroke, and was expected to, with standard uncertainties."""

    lost_n: float
    error_n: float
    expected_n: float
    expected_error_n: float


def force_lost(unit: Unit, loss: Loss) -> ForceLost | None:
    """Of a loss between two stages: half the width of the loop in the middle of the stroke, which gas force leaves as it is.

    What is expected of it is in proportion to what is expected of the work. None of a loss within stages.
    """
    if loss.later is None:
        return None
    first, later = (_half_width_n(loop) for loop in (loss.warmings[0].loop, loss.later))
    per_share = (first - unit.friction_used_n) / max(1.0 - _friction_share(unit, loss.warmings[0].loop), 1e-6)
    return ForceLost(
        first - later,
        STEADY_SHARE * first,
        per_share * loss.expected_share,
        per_share * loss.expected_uncertainty,
    )


def _half_width_n(loop: Loop) -> float:
    out, back = (middle_of(loop, direction, loop.mean_force_n)[1] for direction in DIRECTIONS)
    return 0.5 * float(out - back)


def _friction_share(unit: Unit, loop: Loop) -> float:
    """Of a loop's work."""
    return min(2.0 * unit.friction_used_n * loop.stage.stroke_m / max(_middle_j(loop), 1e-12), 1.0)


def _sound(unit: Unit, direction: Direction, peak_m_s: float, leaky: bool) -> Valve:
    """The valve of a direction at LEAK_AT_C with no more leak than a sound one has, as forceful at the loop's speed."""
    law, heat = unit.side(direction).law, unit.heat
    assert law is not None
    assert heat is not None
    valve = at_temperature(law.valve, heat.mean_c, LEAK_AT_C, unit.oil)
    force = float(valve.force(np.array([peak_m_s]))[0])
    if force <= 0:
        return valve
    share = min(valve.leak * force / peak_m_s, MOST_LEAK)
    if leaky and "leak" not in law.reached:
        share = max(share, LEAK_NOT_SEEN)
    if not leaky and not law.explained:
        share = 0.0  # such a law's leak may be anything
    return with_leak_share(valve, peak_m_s, share)


def _work_j(valve: Valve, loop: Loop, direction: Direction) -> float:
    """Work that a valve does over one cycle of a loop's motion, in one direction."""
    speed = SIGN[direction] * loop.velocity_m_s[::THIN]
    speed = speed[speed > 0]
    return float(valve.force(speed) @ speed) * loop.period_s * THIN / loop.velocity_m_s.size


def _warming(unit: Unit, loop: Loop, from_s: float, to_s: float) -> Warming:
    assert unit.heat is not None
    rise_k, error_k = unit.heat.rise(from_s, to_s)
    from_c = unit.heat.at(from_s)[0]
    return Warming(loop, from_c, from_c + rise_k, rise_k, error_k)


def fade_measures(test: UnderTest) -> Iterator[Measure]:
    """Loss of work, the warming that goes with it, and whether the unit was short of force before it had warmed."""
    loss = loss_of_work(test.unit, test.moving)
    stage = test.moving[-1].stage.index if test.moving else None
    if loss is not None:
        figures = (("expected_share", loss.expected_share),)
        yield Measure(
            "work_lost", loss.share, loss.doubt, "", loss.limit, "expected of this unit", stage=stage, figures=figures
        )
        if test.unit.temperature_c is not None:
            rise_k, error_k = warmed(test.unit, test.moving)
            yield Measure("warming", rise_k, error_k, "K", LEAST_RISE_K, "common practice", stage=stage)
    yield from _short_when_cold(test)


def warmed(unit: Unit, loops: Sequence[Loop]) -> tuple[float, float]:
    """Warming from the first of some loops to the hottest [K] and its standard uncertainty."""
    heat = unit.heat
    assert heat is not None
    start = heat.stages[loops[0].stage.index][0]
    return max(heat.rise(start, heat.stages[loop.stage.index][1]) for loop in loops)


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


def _within(unit: Unit, loops: Sequence[Loop]) -> Loss | None:
    """Share lost by the slopes of log work against cycles, all stages together."""
    assert unit.heat is not None
    total, variance, expected, unsure = 0.0, 0.0, 0.0, 0.0
    warmings: list[Warming] = []
    for loop in loops:
        energy = loop.energy_j[1:-1]
        if energy.size < LEAST_CYCLES - 2 or energy.min() <= 0:
            continue
        count = np.arange(energy.size) - 0.5 * (energy.size - 1)
        slope = float(count @ np.log(energy) / (count @ count))
        rest = np.log(energy) - np.log(energy).mean() - slope * count
        total += slope * loop.stage.cycles
        variance += float(rest @ rest) / max(energy.size - 2, 1) / float(count @ count) * loop.stage.cycles**2
        warmings.append(_warming(unit, loop, *unit.heat.stages[loop.stage.index]))
        share, error = expected_loss(unit, warmings[-1])
        expected += float(np.log(1.0 - share))
        unsure += error
    if not warmings:
        return None
    error = float(np.hypot(np.sqrt(variance), STEADY_SHARE))
    return Loss(1.0 - float(np.exp(total)), error, 1.0 - float(np.exp(expected)), unsure, tuple(warmings))


def _between(unit: Unit, loops: Sequence[Loop]) -> Iterator[Loss]:
    """Share lost between two stages of one speed and stroke, later against earlier."""
    assert unit.heat is not None
    for i, first in enumerate(loops):
        for later in loops[i + 1 :]:
            alike = same_speed(later.peak_velocity_m_s, first.peak_velocity_m_s) and same_speed(
                later.stage.stroke_m, first.stage.stroke_m
            )
            if alike and _middle_j(first) > 0:
                times = (unit.heat.middle_s(loop.stage.index) for loop in (first, later))
                warming = _warming(unit, first, *times)
                share = 1.0 - float(_middle_j(later) / _middle_j(first))
                yield Loss(share, STEADY_SHARE, *expected_loss(unit, warming), (warming,), later)


def _middle_j(loop: Loop) -> float:
    return median(loop.energy_j[1:] if loop.stage.cycles > 1 else loop.energy_j)
