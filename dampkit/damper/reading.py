"""What the bench reads at the tested speeds, without a valve model, and what it would read between them."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np

from dampkit.bench.points import Points
from dampkit.bench.run import Run
from dampkit.curves.loop import Loop
from dampkit.damper.take_up import TakenOut, same_speed, static_force_n
from dampkit.quantities import DIRECTIONS, SIGN, Z95, Array, Direction, Estimate, median, read_only

if TYPE_CHECKING:
    from dampkit.damper.unit import Reading, Side, Unit

MIDDLE = 0.06  # of the stroke on each side of its middle, where force is read: no inertia, no force rate
EDGE = 0.02  # share by which a speed may lie beyond the fastest stage and still count as tested; own choice
NEXT_TO = 1.25  # ratio of speeds up to which a speed counts as that of a stage ...
BETWEEN = 4.0  # ... and ratio of two stages up to which what lies between them counts as tested; own choice
REPEATS = 0.01  # standard uncertainty of a reading besides noise, as share: how a bench repeats; common practice


def middle_of(loop: Loop, direction: Direction, force_n: Array) -> tuple[float, Array]:
    """Mean speed and force of a direction near mid-stroke; `force_n` (..., P), the force's shape (...)."""
    x = loop.displacement_m
    middle, stroke = 0.5 * float(x.max() + x.min()), float(np.ptp(x))
    near = (np.abs(x - middle) < MIDDLE * stroke) & (SIGN[direction] * loop.velocity_m_s > 0)
    return float(np.abs(loop.velocity_m_s[near]).mean()), np.asarray(force_n[..., near].mean(axis=-1))


def reading(
    loops: Sequence[Loop], taken: TakenOut, gas_error_n: float, run: Run | None, direction: Direction
) -> Reading:
    """Force at mid-stroke of each stage, gas out and friction in, of a repeated speed the first; see `damper.unit.Reading`.

    `gas_error_n`: standard uncertainty of the gas force taken out. Source: own; mid-stroke is quasi-static.
    """
    from dampkit.damper.unit import Reading

    rows = []
    for loop in loops:
        speed, cycles = middle_of(loop, direction, loop.force_n)
        static = middle_of(loop, direction, static_force_n(taken, loop.displacement_m))[1]
        force = SIGN[direction] * float(cycles.mean() - static)
        scatter = float(cycles.std(ddof=1)) / math.sqrt(cycles.size) if cycles.size > 1 else 0.0
        half = Z95 * math.hypot(scatter, gas_error_n, REPEATS * force)
        warm = float("nan") if loop.stage.temperature_c is None else loop.stage.temperature_c
        rows.append((speed, force, with_bench(half, force, run), warm, loop.stage.index))
    rows = [row for i, row in enumerate(rows) if not any(same_speed(row[0], before[0]) for before in rows[:i])]
    rows.sort()
    speeds, forces, halves, warm = np.array([row[:4] for row in rows], dtype=np.float64).T
    return Reading(
        read_only(speeds),
        read_only(forces),
        read_only(forces - halves),
        read_only(forces + halves),
        tuple(row[4] for row in rows),
        None if np.isnan(warm).any() else read_only(warm),
    )


def with_bench(half_n: float, force_n: float, run: Run | Points | None) -> float:
    """A 95 % half-width with the declared bench uncertainty added as independent. Source: [jcgm100] 5.1.2."""
    if run is None:
        return half_n
    return math.hypot(half_n, (run.force_percent or 0.0) / 100 * force_n, run.force_uncertainty_n or 0.0)


def reading_at(velocity_m_s: float, unit: Unit, direction: Direction) -> Estimate | None:
    """What the bench would read at a speed, friction in and gas out, N; None where this test does not reach it."""
    side = unit.side(direction)
    if unit.sliding is not None:
        return _slid(velocity_m_s, unit)
    if side.law is None or side.reading is None or not _reached(velocity_m_s, side.reading.velocity_m_s):
        return None
    force, half = (float(x[0]) for x in reading_curve(np.array([velocity_m_s]), side, unit.friction_used_n))
    return Estimate(force, force - half, force + half)


def reading_curve(velocity_m_s: Array, side: Side, friction_n: float) -> tuple[Array, Array]:
    """Reading and its 95 % half-width at speeds, shape as given; the side has a law and readings.

    At a tested speed the reading itself; between, the fitted law moved onto the readings on both sides, as unsure as the
    law is itself, as it misses them and as the loops stray from it. So neither the separation of friction nor the fit
    decides. Source: own.
    """
    law, read = side.law, side.reading
    assert law is not None
    assert read is not None
    v = read.velocity_m_s
    off = read.force_n - (np.interp(v, law.velocity_m_s, law.force_n) + friction_n)
    force = np.interp(velocity_m_s, law.velocity_m_s, law.force_n) + friction_n + np.interp(velocity_m_s, v, off)
    half = np.interp(velocity_m_s, v, 0.5 * (read.high_n - read.low_n))
    shape = np.interp(velocity_m_s, law.velocity_m_s, law.shape_half_n)
    missed = np.interp(velocity_m_s, v, np.abs(off - median(off)))  # all alike is friction, which the law shares
    apart = np.array([_apart(float(s), v) for s in velocity_m_s])  # at a tested speed the law adds no doubt
    stray = 0.0 if law.stray is None else np.interp(velocity_m_s, law.stray.velocity_m_s, law.stray.half_n)
    return force, np.hypot(np.hypot(half, stray), apart * np.hypot(shape, missed))


def curve_half_n(side: Side, unit: Unit) -> Array:
    """95 % half-width of the curve of a side that has a law, shape (K,).

    Of loops: the law's own, with that of the readings and of friction, by how much it misses the readings, and between
    them how far the loops stray; what a unit that warms or a cell that drifts adds is in these. Nothing at rest, where
    there is no force of oil, and never above the height of the loops, in which gas and zero fall out and either direction has
    its part. Parts as squares [jcgm100] 5.1.2.
    """
    law, read, friction = side.law, side.reading, unit.friction_force_n
    assert law is not None
    own = law.high_n - law.force_n
    if read is None or law.stray is None:
        return np.asarray(own)
    v = read.velocity_m_s
    off = read.force_n - (np.interp(v, law.velocity_m_s, law.force_n) + unit.friction_used_n)
    rubs = 0.0 if friction is None else friction.half_width
    at_tested = np.sqrt((0.5 * (read.high_n - read.low_n)) ** 2 + off**2 + rubs**2)
    known = np.interp(law.velocity_m_s, np.append(0.0, v), np.append(0.0, at_tested))
    stray = np.interp(law.velocity_m_s, law.stray.velocity_m_s, law.stray.half_n)
    half = np.sqrt(own**2 + known**2 + stray**2)
    both = [side.reading for side in unit.sides if side.reading is not None]
    if len(both) < len(DIRECTIONS):
        return np.asarray(half)
    return np.asarray(np.clip(half, 0.0, sum(float(read.force_n.max()) for read in both) - law.force_n))


def _reached(speed: float, tested: Array) -> bool:
    """Whether a speed counts as tested: next to a stage, or between two that are not far apart."""
    if not tested.size or speed > tested[-1] * (1 + EDGE):
        return False
    if float(np.min(np.abs(np.log(speed / tested)))) < math.log(NEXT_TO):
        return True
    after = int(np.searchsorted(tested, speed))
    return 0 < after < tested.size and bool(tested[after] < BETWEEN * tested[after - 1])


def _apart(speed: float, tested: Array) -> float:
    """0 at a tested speed, 1 halfway (by logarithm) between two or beyond a quarter off the ends."""
    nearest = float(np.min(np.abs(np.log(np.maximum(speed, 1e-6) / tested))))
    after = int(np.searchsorted(tested, speed))
    if 0 < after < tested.size:
        return min(1.0, nearest / (0.5 * math.log(tested[after] / tested[after - 1])))
    return min(1.0, nearest / math.log(1.25))


def _slid(velocity_m_s: float, unit: Unit) -> Estimate | None:
    """What a friction damper reads at a speed."""
    sliding, friction = unit.sliding, unit.friction_force_n
    if sliding is None or friction is None or velocity_m_s > sliding.velocity_m_s[-1] * (1 + EDGE):
        return None
    force = float(np.interp(velocity_m_s, sliding.velocity_m_s, sliding.force_n))
    return Estimate(force, force - friction.half_width, force + friction.half_width)
