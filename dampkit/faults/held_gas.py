"""Gas that a stroke of a twin tube has to close before its valve makes the force: a void from a low level, or bubbles."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

import numpy as np

from dampkit.damper.areas import rod_area_m2, working_area_m2
from dampkit.damper.take_up import HALF, LEAST_FORCE, SAME_SPEED, TakeUp, take_up
from dampkit.faults.gas import AIR_BAR, gas_pressure_bar
from dampkit.faults.under_test import UnderTest
from dampkit.frozen import frozen
from dampkit.quantities import Z95, Array, Direction, median

MIDDLING_M_S = 0.2  # stages up to here leave a void time to close long before mid-stroke; own
GAS_EXPONENT = 1.4  # of bubbles squeezed within a stroke: no time for heat; [merritt1967] ch. 1
LEVELS = (0.1, 0.15, 0.2, 0.27, 0.35, 0.43, 0.5, 0.6, 0.7, 0.8, 0.9)  # of the force at mid-stroke where travel is read
MODULUS_PA = 1.5e9  # of damper oil; [merritt1967] ch. 1, from memory
COLUMN_M = 0.22  # of oil above and below the piston together, in a damper for a car; common practice, no source
BUSH_M_N = 3e-7  # give of bushes; common practice, no source
GIVE_SHARE = 0.4  # standard uncertainty of what oil and bushes give, relative: column and modulus are not known
CHECK_PA = (0.0, 5e3, 1e4, 1.5e4, 2e4, 3e4)  # preload of the piston's check valve, the best of which is taken; own
POINT_M = 4e-4  # standard deviation of a stored travel about the law of gas and spring; own, of made-up units
OVER_LAW = 1.5  # times the law's force: the stage was so much colder that the law's flow is not its own; own choice
READING_M = 1.5e-4  # standard uncertainty of the travel of one stage, besides; own
LAW_SHARE = 0.12  # ... and share of it that the law of a closed gas leaves open; own, of made-up twin tubes
ALONE_SHARE = 0.15  # ... where one stage alone shows it
UNKNOWN_BAR = (AIR_BAR, 2.0, 5.0)  # absolute pressure of a reserve of which nothing is known: low, middle, high
APART_M = 0.006  # outer ends of the stroke so far apart are two places; own

_Points = tuple[Array, Array]  # force and stored travel of a stage, shape (11,) each


@frozen
class HeldGas:
    """Travel that gas takes up at the pressure of the reserve, with its standard uncertainty.

    Of the stages whose stroke ends at `outer_m`, outwards on the bench's scale. `stage`: the slowest of them.
    """

    travel_m: float
    error_m: float
    outer_m: float
    stage: int


def held_gas(test: UnderTest, direction: Direction, play_m: float = 0.0) -> tuple[HeldGas, ...]:
    """By place, the furthest out first; empty for what is no twin tube with its sizes declared. Play is taken off.

    Gas that fills a travel d at the reserve's pressure p0 gives way by d (1 - (p0 / (p0 + F / A))^(1/n)) as the force F
    on the area A rises: the rod's area entering compression, when both chambers stand at the foot valve's pressure, the
    annulus entering rebound. A check valve in the piston adds its preload on the annulus first. Oil and bushes give way
    besides, in proportion to force: by A_bore L / (K A^2), which is far more than a bush gives where the rod is thin.
    Source: own, from p V^n of a closed amount of gas and [merritt1967] ch. 1; checked on made-up twin tubes of many sizes.
    """
    ring, rod = working_area_m2(test.spec, "rebound"), rod_area_m2(test.spec)
    if test.facts.any_posture or ring is None or rod is None:
        return ()
    outer = {loop.stage.index: float(loop.displacement_m.max()) for loop in test.moving}
    spring = _Spring.of(direction, ring, rod)
    read = sorted(_readable(test, direction), key=lambda t: -outer[t.stage])
    found = []
    while read:
        here = [t for t in read if outer[read[0].stage] - outer[t.stage] < APART_M]
        read = read[len(here) :]
        travel_m, error_m = _travel([_points(t, play_m) for t in here], spring, reserve_bar(test))
        if len(here) == 1:  # of several their scatter shows it
            error_m = float(np.hypot(error_m, _by_level(test, direction, here[0], spring)))
        if travel_m < Z95 * error_m and (room_m := _room(test, direction, here[0], outer, spring)) < travel_m:
            travel_m, error_m = room_m, min(error_m, float(np.hypot(READING_M, LAW_SHARE * room_m)))
        slowest = min(here, key=lambda t: t.peak_velocity_m_s)
        found.append(HeldGas(travel_m, error_m, outer[here[0].stage], slowest.stage))
    return tuple(found)


def _room(test: UnderTest, direction: Direction, at: TakeUp, outer: Mapping[int, float], spring: _Spring) -> float:
    """The most gas for which the faster stages of that place leave room, as travel [m]: asked where slow ones tell none.

    Slow stages close little of it; fast ones close most, and what springs and a late channel add there is only more.
    """
    most = []
    for t in test.unit.side(direction).take_ups:
        there = abs(outer[t.stage] - outer[at.stage]) < APART_M
        if there and not _slow_enough(t) and 2.0 - OVER_LAW < t.reached_ratio < OVER_LAW and not _gives_back(t):
            force, stored = _points(t, 0.0)
            closed = float(spring.closed(force, max(spring.preloads_n), 1e5 * reserve_bar(test)[2])[-1])
            most.append((float(stored[-1]) + POINT_M) / max(closed, 1e-6))
    return min(most, default=np.inf)


def _by_level(test: UnderTest, direction: Direction, slow: TakeUp, spring: _Spring) -> float:
    """Standard uncertainty of one stage's travel by the level of its force [m]: half of how far it moves between both ends.

    A valve passes so much at a small force that near a reversal friction's own doubt makes millimetres.
    """
    law, off_n, taken = test.unit.side(direction).law, test.unit.level_error_n, test.unit.taken_out
    if law is None or off_n <= 0.0:
        return 0.0
    loop = next(loop for loop in test.moving if loop.stage.index == slow.stage)
    levels = [replace(taken, friction_n=taken.friction_n + side * off_n) for side in (-1.0, 1.0)]
    ends = [_points(t, 0.0) for t in (take_up(loop, level, law.valve, direction) for level in levels) if t is not None]
    travel = [_fitted([points], spring, 1e5 * reserve_bar(test)[1])[0][0] for points in ends]
    return 0.5 * float(np.ptp(travel))


def give_m_n(test: UnderTest, direction: Direction) -> float:
    """What oil and bushes give for each newton; 0 where the sizes are not declared."""
    ring, rod = working_area_m2(test.spec, "rebound"), rod_area_m2(test.spec)
    return 0.0 if ring is None or rod is None else _Spring.of(direction, ring, rod).give_m_n


def reserve_bar(test: UnderTest) -> tuple[float, float, float]:
    """Absolute pressure of the reserve: low, middle, high. The gas force tells it, where the cell's zero is known."""
    read = gas_pressure_bar(test)
    if read is None:
        return UNKNOWN_BAR
    middle, error = AIR_BAR + max(read.value, 0.0), read.half_width / Z95
    return max(middle - error, AIR_BAR), middle, middle + error


@frozen
class _Spring:
    """What the stored travel goes with: `area_m2` turns force into pressure, `give_m_n` is of oil and bushes, `preloads_n`
    may have to be overcome first.
    """

    area_m2: float
    give_m_n: float
    preloads_n: tuple[float, ...]

    @staticmethod
    def of(direction: Direction, ring_m2: float, rod_m2: float) -> _Spring:
        inwards = direction == "compression"
        area, column = (rod_m2, (ring_m2 + rod_m2) * COLUMN_M) if inwards else (ring_m2, 0.5 * ring_m2 * COLUMN_M)
        preloads = tuple(p * ring_m2 for p in CHECK_PA) if inwards else (0.0,)
        return _Spring(area, BUSH_M_N + column / (MODULUS_PA * area**2), preloads)

    def closed(self, force_n: Array, preload_n: float, pressure_pa: float) -> Array:
        """Share of the gas's volume that a force has closed."""
        above = np.maximum(force_n - preload_n, 0.0) / self.area_m2
        return np.asarray(1.0 - (pressure_pa / (pressure_pa + above)) ** (1.0 / GAS_EXPONENT))


def _readable(test: UnderTest, direction: Direction) -> list[TakeUp]:
    """Slow and middling stages whose force stands out of friction, and that the law, which tells the flow, is of.

    Where a unit was so much colder or warmer, travel seems to be given back as the force comes up; gas only takes.
    """
    least = LEAST_FORCE * test.unit.friction_used_n / HALF
    ups = test.unit.side(direction).take_ups
    slow = [t for t in ups if _slow_enough(t) and t.law_n > least]
    return [t for t in slow if t.reached_ratio < OVER_LAW and not _gives_back(t)]


def _slow_enough(stage: TakeUp) -> bool:
    return stage.peak_velocity_m_s <= MIDDLING_M_S * (1 + SAME_SPEED)


def _gives_back(stage: TakeUp) -> bool:
    _, stored = _points(stage, 0.0)
    return bool(stored[-1] < stored[0] - POINT_M)


def _travel(points: Sequence[_Points], spring: _Spring, bar: tuple[float, float, float]) -> tuple[float, float]:
    """Median over the stages, with what their scatter, the give of oil and bushes, and the pressure leave open."""
    low, middle, high = (_fitted(points, spring, 1e5 * p) for p in bar)
    each, by_give = middle
    value = median(each)
    if len(each) > 1:
        scatter = float(np.std(each, ddof=1)) / len(each) ** 0.5
    else:  # little of the gas is closed by a small force
        closed = float(spring.closed(points[0][0], 0.0, 1e5 * bar[1])[-1])
        scatter = float(np.hypot(ALONE_SHARE * value, POINT_M / max(closed, 1e-6)))
    pressure = 0.5 * abs(median(high[0]) - median(low[0]))
    return value, float(np.linalg.norm([scatter, by_give, pressure, READING_M / len(each) ** 0.5, LAW_SHARE * value]))


def _points(stage: TakeUp, play_m: float) -> _Points:
    """Force and stored travel from where the force stays above each level, from where the stroke before has let go.

    What stands at the turn and falls again, of a piston's check that opens late, closes no gas.
    """
    force, loose = stage.force_n, int(np.argmax(stage.force_n >= 0.0))
    stored = stage.stored_travel_m - float(stage.stored_travel_m[loose:].min())
    levels = np.array(LEVELS) * median(force[-6:])
    up = max(stage.until, loose)
    below, over = force[loose : up + 1, None] < levels, force[up:, None] >= levels
    stays = loose + np.where(below.any(axis=0), below.shape[0] - np.argmax(below[::-1], axis=0), 0)
    at = np.where(below[-1], up + np.argmax(over, axis=0), stays)
    return np.maximum(force[at], 0.0), np.maximum(stored[at] - play_m, 0.0)


def _fitted(points: Sequence[_Points], spring: _Spring, pressure_pa: float) -> tuple[list[float], float]:
    """Travel of each stage, and how far all may be off with the give, which is fitted to all, about what it should be.

    Of the preloads the one that leaves least over.
    """
    force, stored = (np.concatenate([p[i] for p in points]) for i in (0, 1))
    weight, doubt = 0.5 / POINT_M**2, GIVE_SHARE * spring.give_m_n  # neighbouring points tell half as much
    best: tuple[float, list[float], float] | None = None
    for preload_n in spring.preloads_n:
        closed = spring.closed(force, preload_n, pressure_pa)
        shares = [spring.closed(f, preload_n, pressure_pa) for f, _ in points]
        if min(float(s @ s) for s in shares) <= 0.0:
            continue
        matrix = weight * np.array([[closed @ closed, closed @ force], [closed @ force, force @ force]])
        matrix[1, 1] += doubt**-2
        inverse = np.linalg.inv(matrix)
        right = weight * np.array([closed @ stored, force @ stored]) + [0.0, spring.give_m_n / doubt**2]
        travel, give = (float(x) for x in inverse @ right)
        left = stored - travel * closed - give * force
        missed = float(weight * left @ left) + ((give - spring.give_m_n) / doubt) ** 2
        if best is None or missed < best[0]:
            each = [float(s @ (e - give * f) / (s @ s)) for s, (f, e) in zip(shares, points, strict=True)]
            best = missed, each, float(closed @ force / (closed @ closed) * inverse[1, 1] ** 0.5)
    return ([0.0], READING_M) if best is None else best[1:]
