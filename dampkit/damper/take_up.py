"""The one reading of a loop after a reversal: hydraulic force, and the travel that does not go through the valve."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from functools import lru_cache

import numpy as np

from dampkit.curves.loop import Loop
from dampkit.damper.points import SLOW_M_S, smoothed
from dampkit.damper.valve import Valve
from dampkit.frozen import frozen
from dampkit.quantities import SIGN, Z95, Array, Direction, Estimate, median, read_only

GRID = 121  # speeds of a table of the valve
SHORT = 4  # points short of mid-stroke, where one cycle ends and the next begins
TAKEN_UP, HALF, EARLY = 0.9, 0.5, 0.2  # shares of the force at mid-stroke at which travel is read
PAST_HALF = 0.6  # of the valve's force: so far past half of it noise crosses back no more; own choice
SLOW_BAND_M_S = 0.15  # stages up to here show lost motion best: little force, so springs and delays hide less
LEAST_FORCE = 0.3  # of friction: half of the valve's force must be as much, or its arrival is not seen
SAME_SPEED = 0.03  # share within which two stages have one speed (or one stroke)
READING_M = 0.25e-3  # standard uncertainty of a lost motion, from neighbouring stages of one run; own
READING_SHARE = 0.05  # and this share of it


@frozen
class TakenOut:
    """What is taken out of a bench reading to leave the hydraulic force; the terms of `damper.model`."""

    gas_n: float = 0.0
    gas_n_m: float = 0.0
    gas_n_m2: float = 0.0
    friction_n: float = 0.0
    friction_speed_m_s: float = 1e-3
    mass_kg: float = 0.0
    delay_s: float = 0.0


# Of the peak speed: what springs give back may add to it; above, a flat law would make noise a flow. Own.
MOST_PASSED = 1.05


@frozen
class TakeUp:
    """How one stage takes up after the reversal into a direction, from the reversal to mid-stroke.

    `lost_m`: travel over which the force is under half of the valve's at mid-stroke, beyond the valve's own. That is lost
    motion, wherever it is spoken of. It ends where the loop itself has come up to the valve (`until`, a row): a force that
    falls again further on depends on place, as over a groove in the bore.
    `stored_m`, `early_m`: travel less flow through the valve where the force first comes up to 90 % and to 20 % of the force
    at mid-stroke: what went into gas, a void, play or a spring.
    `reached_ratio`: force at mid-stroke over what the fitted valve makes there, `law_n`.
    `speed_m_s`: at the end of `lost_m`; an error of the channel delay moves the loss by so much for each second.
    Arrays have shape (N,): travel, hydraulic force (positive where it resists), stored travel, the valve's force.
    """

    stage: int
    peak_velocity_m_s: float
    stroke_m: float
    lost_m: float
    stored_m: float
    early_m: float
    reached_ratio: float
    law_n: float
    speed_m_s: float
    until: int
    travel_m: Array
    force_n: Array
    stored_travel_m: Array
    law_force_n: Array
    law_error_m: float = 0.0  # half of 95 % of `lost_m` that the law's own rise leaves open, where a test is thin

    def risen_m(self, off_n: float) -> float:
        """How far the law's own rise to half of its force moves where the law stands so much higher or lower there."""
        half = HALF * self.law_n
        return 0.5 * abs(
            _travel_below(self.travel_m, self.law_force_n, half + off_n)
            - _travel_below(self.travel_m, self.law_force_n, max(half - off_n, 0.0))
        )

    def moved_m(self, level_n: float) -> float:
        """How far `lost_m` moves where the force stands so much higher or lower than was taken: half of that stays at
        half of the valve's force, which moves with it.
        """
        half, off = HALF * self.law_n, (1 - HALF) * level_n
        travel, force = self.travel_m[: self.until + 1], self.force_n[: self.until + 1]
        return 0.5 * abs(_travel_below(travel, force, half + off) - _travel_below(travel, force, half - off))


def static_force_n(taken: TakenOut, displacement_m: Array) -> Array:
    """Gas force and cell zero together at each place, tension positive, same shape."""
    return np.asarray(-taken.gas_n + (taken.gas_n_m + taken.gas_n_m2 * displacement_m) * displacement_m)


def hydraulic_n(loop: Loop, taken: TakenOut, direction: Direction, force_n: Array | None = None) -> Array:
    """The loop's force (or one cycle's) with gas, friction, moving mass and delay taken out; shape (P,).

    Positive where it resists the direction.
    """
    force = _in_time(smoothed(loop.mean_force_n if force_n is None else force_n), taken.delay_s / loop.period_s)
    rest = static_force_n(taken, loop.displacement_m) + taken.mass_kg * loop.acceleration_m_s2
    friction = taken.friction_n * np.tanh(loop.velocity_m_s / taken.friction_speed_m_s)
    return np.asarray(SIGN[direction] * (force - rest - friction))


def take_up(
    loop: Loop, taken: TakenOut, valve: Valve, direction: Direction, force_n: Array | None = None
) -> TakeUp | None:
    """Take-up after the reversal into a direction, of the mean loop or of one cycle's force (P,); None for a slow pass.

    Stored travel is e = x - x_reversal - integral of v(F) dt, v(F) the fitted valve; nothing is assumed of its shape.
    Source: own, from the continuity of oil between piston and valve, [merritt1967] ch. 3; checked on the virtual bench
    with known voids and play.
    """
    if loop.peak_velocity_m_s < SLOW_M_S:
        return None
    speed = SIGN[direction] * loop.velocity_m_s
    begin = loop.begins(direction)
    rows = np.arange(begin - 1, begin + int(np.count_nonzero(speed > 0)) // 2 - SHORT) % speed.size
    travel = np.abs(loop.displacement_m[rows] - loop.displacement_m[rows[0]])
    force = hydraulic_n(loop, taken, direction, force_n)[rows]
    passed = np.minimum(_passed_m_s(valve, force, 2 * loop.peak_velocity_m_s), MOST_PASSED * loop.peak_velocity_m_s)
    step = loop.period_s / speed.size
    stored = travel - np.concatenate([[0.0], np.cumsum(0.5 * step * (passed[1:] + passed[:-1]))])
    law = _law_n(valve, np.maximum(speed[rows], 0.0).tobytes())
    top = median(force[-6:])
    least = float(stored.min())
    until = _come_up(force, law)
    lost = _travel_below(travel[: until + 1], force[: until + 1], HALF * law[-1]) - _travel_below(
        travel, law, HALF * law[-1]
    )
    return TakeUp(
        loop.stage.index,
        loop.peak_velocity_m_s,
        loop.stage.stroke_m,
        lost,
        float(stored[_first_above(force, TAKEN_UP * top)]) - least,
        float(stored[_first_above(force, EARLY * float(law[-1]))]) - least,
        top / max(float(law[-1]), 1e-9),
        float(law[-1]),
        float(speed[rows[int(np.searchsorted(travel[:-1], max(lost, 0.0)))]]),
        until,
        travel,
        force,
        stored,
        law,
    )


def take_ups(loops: Sequence[Loop], taken: TakenOut, valve: Valve, direction: Direction) -> tuple[TakeUp, ...]:
    """Of every moving stage, in the order they were run."""
    found = (take_up(loop, taken, valve, direction) for loop in loops)
    return tuple(t for t in found if t is not None)


def slow_take_ups(found: Sequence[TakeUp], friction_n: float) -> tuple[TakeUp, ...]:
    """The slow stages whose valve force is large enough against friction, the first of each speed.

    A hot repeat of a speed has another gas force.
    """
    kept: list[TakeUp] = []
    for t in found:
        again = any(abs(t.peak_velocity_m_s / k.peak_velocity_m_s - 1) < SAME_SPEED for k in kept)
        if t.peak_velocity_m_s <= SLOW_BAND_M_S and HALF * t.law_n > LEAST_FORCE * friction_n and not again:
            kept.append(t)
    return tuple(kept)


def lost_motion_mm(
    found: Sequence[TakeUp],
    friction_n: float,
    delay_error_s: float = 0.0,
    level_error_n: float = 0.0,
    *,
    give_m_n: float = 0.0,
) -> Estimate | None:
    """Lost motion: mean over the slow stages, else the median over all; None without a moving stage.

    The interval holds the spread over the stages, the reading, the law's own rise, and the standard uncertainties of the
    channel delay and of the level of the force: what gas and friction leave open. What oil and bushes give is in it, unless
    their `give_m_n` is named: it grows with the force, so that it makes the stages unlike, too; as it is not known well,
    of the spreads with and without it the lesser counts.
    """
    chosen = slow_take_ups(found, friction_n) or tuple(found)
    if not chosen:
        return None
    whole = np.array([t.lost_m for t in chosen])
    lost = whole - give_m_n * HALF * np.array([t.law_n for t in chosen])
    middle = median(lost) if lost.size > 2 else float(lost.mean())
    spread = float(min(lost.std(ddof=1), whole.std(ddof=1))) / lost.size**0.5 if lost.size > 1 else 0.0
    late = delay_error_s * median([t.speed_m_s for t in chosen])
    level = median([t.moved_m(level_error_n) for t in chosen]) if level_error_n else 0.0
    reading = READING_M / lost.size**0.5 + READING_SHARE * abs(middle)
    rise = median([t.law_error_m for t in chosen]) / Z95
    return Estimate.from_standard_error(1e3 * middle, 1e3 * float(np.linalg.norm([spread, late, level, reading, rise])))


def same_speed(a_m_s: float, b_m_s: float) -> bool:
    """Whether two peak speeds count as one, wherever stages are compared."""
    return abs(a_m_s / b_m_s - 1) < SAME_SPEED


def each_once(speeds_m_s: Iterable[float]) -> list[float]:
    """Slowest first, of those that count as one the slowest."""
    once: list[float] = []
    for speed in sorted(speeds_m_s):
        if not once or not same_speed(speed, once[-1]):
            once.append(speed)
    return once


def _in_time(force: Array, turns: float) -> Array:
    """A closed loop's force with its delay of so many turns taken back; shape (P,)."""
    if turns == 0:
        return force
    phase = np.arange(force.size) / force.size
    return np.interp(phase + turns, phase, force, period=1.0)


def _passed_m_s(valve: Valve, force: Array, top_m_s: float) -> Array:
    """Speed at which the valve makes a force, its loss included; same shape."""
    speed, made = _made_n(valve, top_m_s)
    beyond = (speed[-1] - speed[-2]) / max(float(made[-1] - made[-2]), 1e-9)
    passed = np.interp(np.sqrt(np.maximum(force, 0.0)), np.sqrt(made), speed)
    return np.asarray(passed + beyond * np.maximum(force - made[-1], 0.0))


@lru_cache(maxsize=8)
def _law_n(valve: Valve, speed_m_s: bytes) -> Array:
    """The valve's forces at the speeds of a half-stroke, the same for all cycles of a stage."""
    return read_only(valve.force(np.frombuffer(speed_m_s)))


@lru_cache(maxsize=8)
def _made_n(valve: Valve, top_m_s: float) -> tuple[Array, Array]:
    """A grid of speeds and the valve's forces there, the same for all cycles of a stage."""
    speed = np.linspace(0.0, top_m_s, GRID)
    return speed, valve.force(speed)


def _first_above(force: Array, level_n: float) -> int:
    above = force >= max(level_n, 0.0)
    above[:2] = False  # the turn itself may hold a leftover of the stroke before
    return int(np.argmax(above)) if above.any() else force.size - 1


def _come_up(force: Array, law: Array) -> int:
    """First row at which the force is what the valve makes at that speed, past half of what it makes at mid-stroke; else
    the last row.
    """
    there = (law >= PAST_HALF * law[-1]) & (force >= TAKEN_UP * law)
    return int(np.argmax(there)) if there.any() else force.size - 1


def _travel_below(travel: Array, force: Array, level_n: float) -> float:
    """Travel over which the force is below a level: noise near the crossing adds as much as it takes away."""
    below, above = np.maximum(level_n - force, 0.0), np.maximum(force - level_n, 0.0)
    low, high = below[1:] + below[:-1], above[1:] + above[:-1]  # of each step; where both, the line between crosses
    return float(np.sum(np.diff(travel) * low / np.maximum(low + high, 1e-300)))
