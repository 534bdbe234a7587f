"""What the damper room hands on: a fitted valve per direction, and what was separated from it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from dampkit.bench.run import Quality
from dampkit.damper.lag import TakeUp
from dampkit.damper.valve import Valve
from dampkit.quantities import Array, Estimate

Regime = Literal["leak", "bleed", "blow-off", "fully-open"]


@dataclass(frozen=True)
class ValveFit:
    """One direction. Curve arrays have shape (K,), positive magnitudes, hydraulic force only."""

    valve: Valve
    velocity_m_s: Array
    force_n: Array
    low_n: Array
    high_n: Array
    # what was measured: one point per fitted loop point, gas and friction taken out, lag averaged out
    point_velocity_m_s: Array
    point_force_n: Array
    reached: tuple[Regime, ...]
    bleed_area_mm2: Estimate | None
    bleed_coefficient_n_s2_m2: Estimate | None
    leak_coefficient_n_s_m: Estimate | None
    blowoff_force_n: Estimate | None
    blowoff_velocity_m_s: Estimate | None
    slope_above_blowoff_n_s_m: Estimate | None
    residual_n: float
    converged: bool
    at_bound: tuple[str, ...] = ()


@dataclass(frozen=True)
class Sliding:
    """Dry friction of a friction damper against peak speed, slowest first; shape (stages,)."""

    velocity_m_s: Array
    force_n: Array


@dataclass(frozen=True)
class DamperFit:
    """Everything the log says about the unit itself. None where this log cannot tell; `quality` says why."""

    rebound: ValveFit | None
    compression: ValveFit | None
    gas_force_n: Estimate | None
    friction_force_n: Estimate | None
    gas_stiffness_n_m: float | None
    rebound_lost_motion_mm: Estimate | None
    compression_lost_motion_mm: Estimate | None
    series_stiffness_n_m: Estimate | None
    channel_delay_s: Estimate | None
    quality: tuple[Quality, ...]
    take_ups: dict[str, tuple[TakeUp, ...]]  # by direction, moving stages in order
    moving_mass_kg: Estimate | None = None  # between cell and damper
    sliding: Sliding | None = None  # of a friction damper only
    temperature_c: float | None = None  # mean of the stages, where the log tells it
