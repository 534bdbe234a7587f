"""Loops and a fitted damper made from closed forms, for the checks of this room."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from dampkit.faults.judge import Case

from dampkit.bench.run import Run
from dampkit.curves.loop import Curves, Loop, Stage
from dampkit.damper.declared import DamperSpec
from dampkit.damper.unit import Law, Unit
from dampkit.damper.valve import Valve
from dampkit.quantities import Array, Estimate, read_only

STROKE_M, FRICTION_N, POINTS = 0.05, 25.0, 512
REBOUND = Valve(bleed=0.0052, blowoff_force=600.0, lift_rate=3e-5)
COMPRESSION = Valve(bleed=0.0055, blowoff_force=300.0, lift_rate=1e-4)
SPEEDS_M_S = (0.05, 0.1, 0.2, 0.3, 0.5, 0.75, 1.0)


def fit_of(valve: Valve, top_m_s: float = 1.0) -> Law:
    """A valve as if it had been fitted, its curve known to half a percent."""
    v = np.linspace(0.0, top_m_s, 81)
    f = valve.force(v)
    return Law(
        valve=valve,
        velocity_m_s=v,
        force_n=f,
        low_n=0.995 * f,
        high_n=1.005 * f,
        point_velocity_m_s=v,
        point_force_n=f,
        reached=("bleed", "blow-off"),
        bleed_area_mm2=None,
        bleed_coefficient_n_s2_m2=None,
        leak_coefficient_n_s_m=None,
        blowoff_force_n=None,
        blowoff_velocity_m_s=None,
        slope_above_blowoff_n_s_m=None,
        residual_n=1.0,
        converged=True,
    )


def damper(rebound: Valve = REBOUND, compression: Valve = COMPRESSION, friction_n: float = FRICTION_N) -> Unit:
    near = Estimate.from_standard_error(friction_n, 0.3)
    return Unit(
        fit_of(rebound), fit_of(compression), Estimate(0.0, -0.5, 0.5), near, 0.0, None, None, None, None, (), {}
    )


def motion(speed_m_s: float) -> tuple[Array, Array, Array]:
    """Displacement, velocity, acceleration of a sine that starts at mid-stroke into extension."""
    phase = 2 * np.pi * np.arange(POINTS) / POINTS
    omega = speed_m_s / (0.5 * STROKE_M)
    half = 0.5 * STROKE_M
    return half * np.sin(phase), half * omega * np.cos(phase), -half * omega**2 * np.sin(phase)


def loop(index: int, speed_m_s: float, unit: Unit, late_mm: float = 0.0, cycles: int = 4) -> Loop:
    """The loop of a unit; `late_mm` of travel entering compression in which only friction resists."""
    x, v, a = motion(speed_m_s)
    assert unit.rebound is not None
    assert unit.compression is not None
    assert unit.friction_force_n is not None
    out, back = unit.rebound.valve.force(np.maximum(v, 0)), unit.compression.valve.force(np.maximum(-v, 0))
    missing = (v < 0) & (x.max() - x < 1e-3 * late_mm)
    force = np.where(v > 0, out, -np.where(missing, 0.0, back)) + unit.friction_force_n.value * np.tanh(v / 1e-3)
    stage = Stage(index, 0, POINTS, speed_m_s / (np.pi * STROKE_M), cycles, STROKE_M)
    return Loop(stage, x, v, a, read_only(np.tile(force, (cycles, 1))), 1)


def case(unit: Unit, loops: tuple[Loop, ...], spec: DamperSpec | None = None) -> Case:
    t = np.arange(4.0)
    run = Run("made", "0" * 64, 4, t, t, t, zero_known=True)
    return Case(Curves(run, loops), unit, spec)


def ladder(unit: Unit, late_mm: float = 0.0) -> tuple[Loop, ...]:
    return tuple(loop(i, v, unit, late_mm) for i, v in enumerate(SPEEDS_M_S))


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
