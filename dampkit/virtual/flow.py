"""Flow through a valve against its pressure drop, and its slope, for many valves at once."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from dampkit.quantities import Array
from dampkit.virtual.oil import Oil
from dampkit.virtual.plant import Opening

TURBULENT_FROM_PA = 400.0  # below about this drop an orifice runs laminar and its flow is proportional to the drop
LEAK, BLEED, CRACK, PER_SPAN, OPEN, KNEE = range(6)


def stack(openings: Sequence[Opening]) -> Array:
    """Rows leak, bleed, crack, 1/span, open, knee: shape (6, N) for N openings."""
    return np.array(
        [[o.leak_m3_s_pa, o.bleed_m2, o.crack_pa, 1.0 / o.span_pa, o.open_m2, o.knee] for o in openings]
    ).T.copy()


def at_temperature(stacked: Array, oils: Sequence[Oil], temperature_c: Array) -> Array:
    """The stack of (6, ..., N) with oil at a temperature put in: leak by viscosity, areas times sqrt(2 / density).

    `oils` and `temperature_c` have N members. Leak goes with one over the dynamic viscosity, from its value at 20 degC.
    """
    viscosity = np.array([o.dynamic_viscosity_pa_s(t) for o, t in zip(oils, temperature_c, strict=True)])
    reference = np.array([o.dynamic_viscosity_pa_s(20.0) for o in oils])
    density = np.array([o.density_kg_m3(t) for o, t in zip(oils, temperature_c, strict=True)])
    out = stacked.copy()
    out[LEAK] *= reference / viscosity
    out[BLEED] *= np.sqrt(2.0 / density)
    out[OPEN] *= np.sqrt(2.0 / density)
    return out


def flow(drop_pa: Array, valve: Array) -> tuple[Array, Array]:
    """Flow and its slope at a drop >= 0; `valve` is (6, *drop.shape) from `at_temperature`. Shapes follow `drop_pa`.

    Orifice Q = CdA sqrt(2 dp/rho) with a laminar start, clearance Q = G dp, spring-loaded lift in proportion to the
    excess pressure. Source: [merritt1967] ch. 3.
    """
    square = drop_pa * drop_pa
    eased = square + TURBULENT_FROM_PA**2
    root = np.sqrt(np.sqrt(eased))
    orifice = drop_pa / root
    orifice_slope = (1.0 - 0.5 * square / eased) / root
    knee = valve[KNEE]
    low = (drop_pa - valve[CRACK]) * valve[PER_SPAN]
    low_corner = np.minimum(np.maximum(low, -knee), knee) + knee
    high = low - 1.0
    high_corner = np.minimum(np.maximum(high, -knee), knee) + knee
    twice = 2.0 * knee
    lift = (low_corner * low_corner - high_corner * high_corner) / (twice + twice)
    lift += np.maximum(low - knee, 0.0) - np.maximum(high - knee, 0.0)
    lift_slope = (low_corner - high_corner) / twice * valve[PER_SPAN]
    area = valve[BLEED] + valve[OPEN] * lift
    leak = valve[LEAK]
    q = leak * drop_pa + area * orifice
    slope = leak + area * orifice_slope + valve[OPEN] * lift_slope * orifice
    return q, slope


def drop_for(flow_m3_s: Array, opening: Opening, oil: Oil, temperature_c: float = 20.0) -> Array:
    """Pressure drop that drives a flow >= 0, by bisection to rounding; same shape. Inverse of `flow`.

    A closed opening gives infinity wherever flow is asked for.
    """
    one = at_temperature(stack([opening]), [oil], np.array([temperature_c]))
    valve = np.broadcast_to(one.reshape(6, *(1,) * flow_m3_s.ndim), (6, *flow_m3_s.shape))
    low, high = np.zeros_like(flow_m3_s), np.full_like(flow_m3_s, 1e9)
    for _ in range(100):
        middle = 0.5 * (low + high)
        short = flow(middle, valve)[0] < flow_m3_s
        low, high = np.where(short, middle, low), np.where(short, high, middle)
    reachable = flow(np.full_like(flow_m3_s, 1e9), valve)[0] >= flow_m3_s
    return np.where(flow_m3_s <= 0.0, 0.0, np.where(reachable, 0.5 * (low + high), np.inf))


def clearance_leak(
    diameter_m: float, clearance_m: float, length_m: float, viscosity_pa_s: float, eccentricity: float = 0.0
) -> float:
    """Laminar flow per pressure drop [m3/s/Pa] past a piston, `eccentricity` 0 (centred) to 1 (touching).

    pi D c^3 (1 + 1.5 e^2) / (12 mu L). Source: [rabie2009] eq. 2.19; eccentricity [merritt1967], from memory.
    """
    centred = np.pi * diameter_m * clearance_m**3 / (12.0 * viscosity_pa_s * length_m)
    return float(centred * (1.0 + 1.5 * eccentricity**2))


def round_holes(diameter_m: float, count: int = 1, discharge: float = 0.7) -> float:
    """Effective area of drilled holes, discharge coefficient in it [m2]. Source: [merritt1967] ch. 3."""
    return float(discharge * count * 0.25 * np.pi * diameter_m**2)


def with_leak(opening: Opening, leak_m3_s_pa: float) -> Opening:
    """The opening with a clearance of so much flow per pressure drop beside it."""
    return replace(opening, leak_m3_s_pa=opening.leak_m3_s_pa + leak_m3_s_pa)
