"""Damping ratio of a measured stage, or at a speed of a table: the viscous damper that takes as much energy."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from dampkit.bench.run import Run
from dampkit.curves.loop import Loop
from dampkit.damper.reading import EDGE, reading_curve
from dampkit.damper.take_up import TakenOut, each_once, static_force_n
from dampkit.damper.unit import Unit
from dampkit.frozen import frozen
from dampkit.needs.corner import Corner
from dampkit.quantities import DIRECTIONS, Array, Direction, Estimate, student_95

NO_STAGE = -1
ANGLES = 201  # over a quarter of a cycle, at which a law is read
LAW_POINTS = 201  # of a curve, over which the energy of a cycle is summed
REST_M_S = 1e-5  # from where the curve is read
SINE_SHARE = 0.05  # by which root mean square over peak speed may be off a sine's; a crank's is by 2 to 4 %; own choice
ONE_CYCLE_SHARE = 0.05  # 95 % allowance where a stage has one cycle and so shows no spread; own choice


@frozen
class StageRatio:
    """At one stage, or at a speed of a table (NO_STAGE). Speed at the damper; ratios at the wheel, of `Corner.critical_damping_n_s_m`."""

    stage_index: int
    peak_velocity_m_s: float
    equivalent_damping_n_s_m: Estimate  # at the damper
    damping_ratio: Estimate
    rebound_ratio: float
    compression_ratio: float


def equivalent_damping(loop: Loop) -> Array:
    """c_eq of each cycle of the stage at the damper, N s/m, shape (cycles,): energy over the integral of speed squared.

    For a sine this is E / (pi omega X^2); for a crank with a second harmonic it still gives back c of a viscous damper.
    Friction is in it. Source: [rao] ch. 3 (equivalent viscous damping).
    """
    step_s = loop.period_s / loop.velocity_m_s.size
    return np.asarray(loop.energy_j / (loop.velocity_m_s @ loop.velocity_m_s * step_s))


def cycle_damping(peak_m_s: float, velocity_m_s: Array, force_n: Array) -> float:
    """c_eq of a half cycle, N s/m: integral of F v dt over integral of v^2 dt, v = V cos(angle).

    The law is read straight between its points (K,), which must reach `peak_m_s` and start at or near standstill.
    Source: [rao] ch. 3 (equivalent viscous damping).
    """
    angle = (np.arange(ANGLES) + 0.5) * (0.5 * np.pi / ANGLES)  # midpoint rule
    v = peak_m_s * np.cos(angle)
    force = np.interp(v, velocity_m_s, force_n)
    return float(force @ v / (v @ v))


def is_sine(loop: Loop) -> bool:
    """Whether the stroke was run near enough to a sine.

    At a steady speed friction is worth pi / 4 of the damping that it is worth over a sine of that peak speed, so that a
    ratio read there is not that of a wheel that swings. Source: [rao] ch. 3.
    """
    v = loop.velocity_m_s
    return abs(2**0.5 * float(np.sqrt(np.mean(v**2))) / loop.peak_velocity_m_s - 1) < SINE_SHARE


def stage_ratios(
    loops: Sequence[Loop], corner: Corner, taken: TakenOut, run: Run | None = None
) -> tuple[StageRatio, ...]:
    """Damping ratios of all stages in the order given. Empty for no loops.

    `taken`: the static force at each place, which goes out of the halves of a loop. The interval comes from the spread over the cycles (Student) and, where `run` declares it, the bench uncertainty.
    """
    return tuple(_stage_ratio(loop, corner, run, taken) for loop in loops)


def point_ratios(unit: Unit, corner: Corner) -> tuple[StageRatio, ...]:
    """Damping ratios at the speeds that points reach in both directions: each the peak speed of a sine.

    How long its stroke is plays no part, as the force hangs on speed alone: E / (pi omega X^2) has no X left in it.
    Friction is in. Empty where a direction has no curve. Source: [rao] ch. 3.
    """
    reads = [side.reading for side in unit.sides]
    if any(r is None for r in reads):
        return ()
    speeds = each_once(float(v) for r in reads if r is not None for v in r.velocity_m_s)
    top = min(float(r.velocity_m_s[-1]) for r in reads if r is not None)
    grid = np.linspace(REST_M_S, top * (1 + EDGE), LAW_POINTS)
    curves = [_bench_curve(unit, d, grid) for d in DIRECTIONS]
    laws = [curve for curve in curves if curve is not None]
    if len(laws) < len(DIRECTIONS):
        return ()
    return tuple(_point_ratio(v, grid, laws, corner) for v in speeds if v <= top * (1 + EDGE))


def _bench_curve(unit: Unit, direction: Direction, grid: Array) -> tuple[Array, Array] | None:
    """What the bench reads at speeds, friction in, with its half-width; None without a curve."""
    side = unit.side(direction)
    if unit.sliding is not None and unit.friction_force_n is not None:
        force = np.interp(grid, unit.sliding.velocity_m_s, unit.sliding.force_n)
        return force, np.full(grid.size, unit.friction_force_n.half_width)
    return None if side.law is None else reading_curve(grid, side, unit.friction_used_n)


def _point_ratio(v: float, grid: Array, laws: Sequence[tuple[Array, Array]], corner: Corner) -> StageRatio:
    to_ratio = corner.motion_ratio**2 / corner.critical_damping_n_s_m
    rebound, compression = (cycle_damping(v, grid, force) for force, _ in laws)
    c = 0.5 * (rebound + compression)
    half = 0.5 * sum(cycle_damping(v, grid, doubt) for _, doubt in laws)
    estimate = Estimate(c, c - half, c + half)
    return StageRatio(NO_STAGE, v, estimate, estimate.scaled(to_ratio), rebound * to_ratio, compression * to_ratio)


def _stage_ratio(loop: Loop, corner: Corner, run: Run | None, taken: TakenOut) -> StageRatio:
    to_ratio = corner.motion_ratio**2 / corner.critical_damping_n_s_m
    cycles = equivalent_damping(loop)
    c = float(cycles.mean())
    half = math.hypot(_spread_95(cycles), _bench_95(c, loop, run))
    estimate = Estimate(c, c - half, c + half)
    rebound, compression = _halves(loop, taken)
    return StageRatio(
        stage_index=loop.stage.index,
        peak_velocity_m_s=loop.peak_velocity_m_s,
        equivalent_damping_n_s_m=estimate,
        damping_ratio=estimate.scaled(to_ratio),
        rebound_ratio=rebound * to_ratio,
        compression_ratio=compression * to_ratio,
    )


def _halves(loop: Loop, taken: TakenOut) -> tuple[float, float]:
    """c_eq of the rebound and the compression half: its energy doubled, the standing force taken out first."""
    v = loop.velocity_m_s
    power = (loop.mean_force_n - static_force_n(taken, loop.displacement_m)) * v
    whole = float(v @ v)
    return 2 * float(power[v > 0].sum()) / whole, 2 * float(power[v < 0].sum()) / whole


def _spread_95(cycles: Array) -> float:
    """Half-width of the 95 % interval of the mean. Source: [jcgm100] 4.2.3 and G.3."""
    if cycles.size < 2:
        return ONE_CYCLE_SHARE * abs(float(cycles[0]))
    standard_error = float(cycles.std(ddof=1)) / math.sqrt(cycles.size)
    return student_95(cycles.size - 1) * standard_error


def _bench_95(c: float, loop: Loop, run: Run | None) -> float:
    """What the declared bench uncertainty does to c_eq; 0 where nothing is declared. Source: [jcgm100] 5.1.2.

    A share of force passes straight on. Newtons count as if they worked against the motion all the way round
    (the worst they can do), like friction: 4 F / (pi V). A wrong stroke changes c_eq by its own share.
    """
    if run is None:
        return 0.0
    share = (run.force_percent or 0.0) / 100
    newtons = 4 * (run.force_uncertainty_n or 0.0) / (math.pi * loop.peak_velocity_m_s)
    stroke = 2 * (run.displacement_uncertainty_m or 0.0) / loop.stage.stroke_m
    return math.sqrt((share * c) ** 2 + newtons**2 + (stroke * c) ** 2)
