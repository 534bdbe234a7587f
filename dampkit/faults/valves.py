"""Valves against the known-good reference: internal leak, weak blow-off, blocked bleed."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from dampkit.damper.fitted import ValveFit
from dampkit.faults.finding import Finding
from dampkit.faults.judge import Case, Measure, finding

BASIS = "the unit's own reference"


@dataclass(frozen=True)
class Against:
    """Measured over reference force, friction in and gas out, at the slowest and the fastest reference speed reached."""

    direction: str
    fit: ValveFit
    slow: float
    slow_m_s: float
    fast: float
    fast_m_s: float
    middle: float  # median of all speeds above the slowest two
    tolerance: float  # of the reference force at the slow speed, floor included
    tolerance_fast: float
    uncertainty: float


def internal_leak(case: Case) -> Finding | None:
    """Force missing at low speed and much less so at high speed: oil passes beside the valve.

    Source: own, after [dixon2007] ch. 9; a leak is in parallel with the valve, so it shows slow.
    """
    return _first(
        case,
        "internal_leak",
        lambda a: [
            Measure(
                f"{a.direction} force at {a.slow_m_s:g} m/s over the reference",
                a.slow,
                a.uncertainty,
                "",
                1 - a.tolerance,
                BASIS,
                "below",
            ),
            Measure("the same at the fastest speed, less that", a.fast - a.slow, a.uncertainty, "", a.tolerance, BASIS),
        ],
        lambda a: (
            f"Internal leak: {a.direction} force at {a.slow_m_s:g} m/s is {100 * (1 - a.slow):.0f} % under the reference, at {a.fast_m_s:g} m/s only {100 * (1 - a.fast):.0f} %"
        ),
    )


def weak_blowoff(case: Case) -> Finding | None:
    """Low-speed force right, everything above the knee low: the blow-off opens too soon. Source: own."""
    return _first(
        case,
        "weak_blowoff",
        lambda a: [
            Measure(
                f"{a.direction} force above the knee over the reference",
                a.middle,
                a.uncertainty,
                "",
                1 - a.tolerance_fast,
                BASIS,
                "below",
            ),
            Measure("the same at the slowest speed", a.slow, a.uncertainty, "", 1 - a.tolerance, BASIS),
        ],
        lambda a: (
            f"Blow-off weak: {a.direction} force above the knee is {100 * (1 - a.middle):.0f} % under the reference, low-speed force is right"
        ),
    )


def blocked_bleed(case: Case) -> Finding | None:
    """Low-speed force too high, high-speed force right: the bleed is blocked or too small. Source: own."""
    return _first(
        case,
        "blocked_bleed",
        lambda a: [
            Measure(
                f"{a.direction} force at {a.slow_m_s:g} m/s over the reference",
                a.slow,
                a.uncertainty,
                "",
                1 + a.tolerance,
                BASIS,
            ),
            Measure("the same at the fastest speed", a.fast, a.uncertainty, "", 1 + a.tolerance_fast, BASIS, "below"),
        ],
        lambda a: (
            f"Bleed blocked: {a.direction} force at {a.slow_m_s:g} m/s is {100 * (a.slow - 1):.0f} % over the reference, high-speed force is right"
        ),
    )


def _first(case: Case, code: str, measures: object, sentence: object) -> Finding | None:
    made = [finding(code, measures(a), sentence(a)) for a in _against(case)]  # type: ignore[operator]
    known = [m for m in made if m is not None]
    return max(known, key=lambda m: m.likelihood) if known else None


def _against(case: Case) -> list[Against]:
    reference = None if case.spec is None else case.spec.reference
    friction = case.damper.friction_force_n
    if reference is None or friction is None:
        return []
    out = []
    speed = np.array(reference.velocity_m_s)
    for direction, fit, wanted in (
        ("rebound", case.damper.rebound, np.array(reference.rebound_force_n)),
        ("compression", case.damper.compression, np.array(reference.compression_force_n)),
    ):
        if fit is None:
            continue
        tested = speed <= fit.velocity_m_s[-1] * 1.02
        if tested.sum() < 3:
            continue
        v, f = speed[tested], wanted[tested]
        measured = fit.valve.force(v) + friction.value
        ratio = measured / f
        share = np.maximum(reference.tolerance_percent / 100, reference.tolerance_floor_n / f)
        half = np.interp(v, fit.velocity_m_s, 0.5 * (fit.high_n - fit.low_n)) / f
        slow = int(np.argmin(share[:2]))
        out.append(
            Against(
                direction,
                fit,
                float(ratio[slow]),
                float(v[slow]),
                float(ratio[-1]),
                float(v[-1]),
                float(np.median(ratio[2:])),
                float(share[slow]),
                float(share[-1]),
                float(max(half.max() / 1.96, 0.01)),
            )
        )
    return out
