"""Measured forces held against those of a known-good unit, at the speeds that its specification names."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Literal

import numpy as np

from dampkit.damper.fitted import DamperFit, ValveFit
from dampkit.damper.warmth import brought_to
from dampkit.outcome.conformity import judge
from dampkit.outcome.result import ReferencePoint
from dampkit.quantities import Estimate

if TYPE_CHECKING:
    from dampkit.bench.run import Run
    from dampkit.damper.declared import DamperSpec, Reference

Direction = Literal["rebound", "compression"]
EDGE = 0.02  # share by which a declared speed may lie beyond the fastest stage and still count as tested; own choice


def compare_with_reference(
    fit: DamperFit, spec: DamperSpec, run: Run | None = None
) -> tuple[ReferencePoint, ...] | None:
    """One point for each declared speed and direction; None where no reference is declared.

    Measured force is the fitted hydraulic force plus friction, gas out, as the reference is read. A speed beyond
    those tested, a direction without a fit or unknown friction is `not established`.
    """
    reference = spec.reference
    if reference is None:
        return None
    sides: tuple[tuple[Direction, ValveFit | None, tuple[float, ...]], ...] = (
        ("rebound", fit.rebound, reference.rebound_force_n),
        ("compression", fit.compression, reference.compression_force_n),
    )
    points = []
    for direction, tested, forces in sides:
        valve = None if tested is None else brought_to(tested, fit.temperature_c, reference.temperature_c)
        for v, wanted, slack in zip(reference.velocity_m_s, forces, allowances(reference, direction), strict=True):
            measured = slid(v, fit, run) if fit.sliding else reading_at(v, valve, fit.friction_force_n, run)
            points.append(_point(direction, v, wanted, slack, measured))
    return tuple(points)


def allowances(reference: Reference, direction: Direction) -> list[float]:
    """Half-width of the window at each declared speed, N: the declared one, else the larger of percentage and floor."""
    own: tuple[float, ...] | None = getattr(reference, f"{direction}_tolerance_n")
    if own is not None:
        return list(own)
    forces: tuple[float, ...] = getattr(reference, f"{direction}_force_n")
    return [max(reference.tolerance_percent / 100 * wanted, reference.tolerance_floor_n) for wanted in forces]


def reading_at(
    velocity_m_s: float, valve: ValveFit | None, friction: Estimate | None, run: Run | None = None
) -> Estimate | None:
    """What the bench would read at a speed, friction in and gas out, N; None where this log cannot tell.

    Uncertainty: curve, friction and declared bench, combined as independent. Source: [jcgm100] 5.1.2.
    """
    if valve is None or friction is None or velocity_m_s > valve.velocity_m_s[-1] * (1 + EDGE):
        return None
    curves = (valve.force_n, valve.low_n, valve.high_n)
    force, low, high = (float(np.interp(velocity_m_s, valve.velocity_m_s, curve)) for curve in curves)
    return _with_bench(force + friction.value, math.hypot(0.5 * (high - low), friction.half_width), run)


def slid(velocity_m_s: float, fit: DamperFit, run: Run | None = None) -> Estimate | None:
    """What a friction damper reads at a speed, N; None beyond the speeds tested."""
    sliding, friction = fit.sliding, fit.friction_force_n
    if sliding is None or friction is None or velocity_m_s > sliding.velocity_m_s[-1] * (1 + EDGE):
        return None
    return _with_bench(float(np.interp(velocity_m_s, sliding.velocity_m_s, sliding.force_n)), friction.half_width, run)


def _with_bench(force_n: float, half_n: float, run: Run | None) -> Estimate:
    """A force with its half-width, the declared bench's added as independent."""
    bench = 0.0 if run is None else math.hypot((run.force_percent or 0) / 100 * force_n, run.force_uncertainty_n or 0)
    half = math.hypot(half_n, bench)
    return Estimate(force_n, force_n - half, force_n + half)


def _point(
    direction: Direction, velocity: float, wanted: float, slack: float, measured: Estimate | None
) -> ReferencePoint:
    low, high = max(0.0, wanted - slack), wanted + slack
    return ReferencePoint(
        direction=direction,
        velocity_m_s=velocity,
        measured_n=None if measured is None else measured.value,
        measured_low_n=None if measured is None else measured.low,
        measured_high_n=None if measured is None else measured.high,
        reference_n=wanted,
        low_n=low,
        high_n=high,
        answer="not established" if measured is None else judge(measured, low, high).answer,
    )
