"""Loops, laws, readings and units made from closed forms, for the checks of several rooms. All of it is made up."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace

import numpy as np

from dampkit.bench.run import Run
from dampkit.curves.loop import Curves, Loop, Stage
from dampkit.damper.declared import DamperSpec
from dampkit.damper.take_up import TakenOut, lost_motion_mm, take_ups
from dampkit.damper.unit import Law, Reading, Regime, Side, Unit
from dampkit.damper.valve import Valve
from dampkit.faults.under_test import UnderTest
from dampkit.quantities import Array, Direction, Estimate, read_only

STROKE_M, FRICTION_N, POINTS = 0.05, 25.0, 512
SHARP_M_S = 1e-3  # speed over which made friction turns over
REBOUND = Valve(bleed=0.0052, blowoff_force=600.0, lift_rate=3e-5)
COMPRESSION = Valve(bleed=0.0055, blowoff_force=300.0, lift_rate=1e-4)
SPEEDS_M_S = (0.05, 0.1, 0.2, 0.3, 0.5, 0.75, 1.0)
Force = Callable[[Array, Array], Array]  # in tension, from displacement and velocity


def motion(speed_m_s: float, stroke_m: float = STROKE_M) -> tuple[Array, Array, Array]:
    """Displacement, velocity, acceleration of a sine that starts at mid-stroke into extension; shape (512,) each."""
    phase = 2 * np.pi * np.arange(POINTS) / POINTS
    half = 0.5 * stroke_m
    omega = speed_m_s / half
    return half * np.sin(phase), speed_m_s * np.cos(phase), -(omega**2) * half * np.sin(phase)


def sine_loop(
    force: Force, speed_m_s: float, index: int = 0, cycles: int = 4, noise_n: float = 0.0, delay_s: float = 0.0
) -> Loop:
    """The loop of a force law; the channel reads force `delay_s` late. Noise is one draw for each cycle and point."""
    x, v, a = motion(speed_m_s)
    omega = speed_m_s / (0.5 * STROKE_M)
    earlier = 2 * np.pi * np.arange(POINTS) / POINTS - omega * delay_s
    made = force(0.5 * STROKE_M * np.sin(earlier), speed_m_s * np.cos(earlier))
    rough = np.random.default_rng(index).normal(0.0, noise_n, (cycles, POINTS))
    stage = Stage(index, 0, POINTS * cycles, omega / (2 * np.pi), cycles, STROKE_M)
    return Loop(stage, x, v, a, read_only(made + rough), 1)


def law_of(valve: Valve, top_m_s: float = 1.0, spread: float = 0.005) -> Law:
    """A valve as if it had been fitted, its curve known to a relative half-width of `spread`."""
    v = np.linspace(0.0, top_m_s, 81)
    f = valve.force(v)
    reached: tuple[Regime, ...] = ("bleed", "blow-off") if np.isfinite(valve.blowoff_force) else ("bleed",)
    knee = valve.blowoff_force
    knee_m_s = float(valve.velocity(np.array([knee]))[0]) if np.isfinite(knee) else np.inf
    known = Estimate.from_standard_error(knee_m_s, 0.01 * knee_m_s) if knee_m_s < top_m_s else None
    return Law(
        valve, v, f, (1 - spread) * f, (1 + spread) * f, v, f, reached, blowoff_velocity_m_s=known, residual_n=1.0
    )  # fmt: skip


def reading_of(law: Law, friction_n: float, speeds_m_s: Sequence[float], spread: float = 0.005) -> Reading:
    """What the bench reads at the speeds that the law covers, friction in, known to a relative half-width."""
    v = np.array([s for s in speeds_m_s if s <= law.top_m_s * 1.001], dtype=np.float64)
    f = law.valve.force(v) + friction_n
    stages = tuple(range(v.size))
    return Reading(read_only(v), read_only(f), read_only((1 - spread) * f), read_only((1 + spread) * f), stages)


def side_of(
    direction: Direction,
    valve: Valve,
    friction_n: float = FRICTION_N,
    top_m_s: float = 1.0,
    spread: float = 0.005,
    speeds_m_s: Sequence[float] = SPEEDS_M_S,
) -> Side:
    law = law_of(valve, top_m_s, spread)
    return Side(direction, law, reading_of(law, friction_n, speeds_m_s, spread))


def unit_of(
    rebound: Valve = REBOUND,
    compression: Valve = COMPRESSION,
    friction_n: float = FRICTION_N,
    speeds_m_s: Sequence[float] = SPEEDS_M_S,
) -> Unit:
    """A unit as if it had been identified: laws, readings and friction known to about half a percent, no gas."""
    top = max(speeds_m_s)
    return Unit(
        side_of("rebound", rebound, friction_n, top, speeds_m_s=speeds_m_s),
        side_of("compression", compression, friction_n, top, speeds_m_s=speeds_m_s),
        gas_force_n=Estimate(0.0, -0.5, 0.5),
        gas_stiffness_n_m=0.0,
        friction_force_n=Estimate.from_standard_error(friction_n, 0.3),
        friction_at_most_n=friction_n + 1.0,
        friction_used_n=friction_n,
        taken_out=TakenOut(friction_n=friction_n, friction_speed_m_s=SHARP_M_S),
    )


def with_side(unit: Unit, side: Side) -> Unit:
    """The unit with one side changed over."""
    return replace(unit, rebound=side) if side.direction == "rebound" else replace(unit, compression=side)


def loop_of(unit: Unit, speed_m_s: float, index: int = 0, late_mm: float = 0.0, cycles: int = 4) -> Loop:
    """The loop of a unit; `late_mm` of travel entering compression in which only friction resists."""
    x, v, a = motion(speed_m_s)
    assert unit.rebound.law is not None
    assert unit.compression.law is not None
    out, back = (
        side.law.valve.force(np.maximum(s, 0)) for side, s in zip(unit.sides, (v, -v), strict=True) if side.law
    )
    missing = (v < 0) & (x.max() - x < 1e-3 * late_mm)
    force = np.where(v > 0, out, -np.where(missing, 0.0, back)) + unit.friction_used_n * np.tanh(v / SHARP_M_S)
    stage = Stage(index, 0, POINTS, speed_m_s / (np.pi * STROKE_M), cycles, STROKE_M)
    return Loop(stage, x, v, a, read_only(np.tile(force, (cycles, 1))), 1)


def ladder(unit: Unit, late_mm: float = 0.0, speeds_m_s: Sequence[float] = SPEEDS_M_S) -> tuple[Loop, ...]:
    return tuple(loop_of(unit, v, i, late_mm) for i, v in enumerate(speeds_m_s))


def seen_on(unit: Unit, loops: tuple[Loop, ...]) -> Unit:
    """The unit with the take-ups that its loops show."""
    for side in unit.sides:
        found = () if side.law is None else take_ups(loops, unit.taken_out, side.law.valve, side.direction)
        lost = lost_motion_mm(found, unit.friction_used_n)
        unit = with_side(unit, replace(side, take_ups=found, lost_motion_mm=lost))
    return unit


def some_run() -> Run:
    t = np.arange(4.0)
    return Run("made", "0" * 64, 4, t, t, t, zero_known=True)


def under_test(unit: Unit, loops: tuple[Loop, ...], spec: DamperSpec | None = None) -> UnderTest:
    return UnderTest(Curves(some_run(), loops), seen_on(unit, loops), spec)


def spec_for(rebound: Valve = REBOUND, compression: Valve = COMPRESSION, kind: str = "twin-tube") -> DamperSpec:
    """The damper file whose reference is what these valves make with the usual friction."""
    v = np.array(SPEEDS_M_S)
    return DamperSpec.model_validate({
        "damper": {"kind": kind, "piston_diameter_mm": 30.0, "rod_diameter_mm": 12.0},
        "reference": {
            "velocity_m_s": SPEEDS_M_S,
            "rebound_force_n": tuple((rebound.force(v) + FRICTION_N).tolist()),
            "compression_force_n": tuple((compression.force(v) + FRICTION_N).tolist()),
        },
    })  # fmt: skip


def with_blowoff(valve: Valve, share: float) -> Valve:
    return replace(valve, blowoff_force=share * valve.blowoff_force)
