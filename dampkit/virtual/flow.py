"""Flow through a valve against its pressure drop, and its slope, for many valves at once."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from dampkit.quantities import Array
from dampkit.virtual.oil import Oil, OilColumns
from dampkit.virtual.plant import Opening

TURBULENT_FROM_PA = 400.0  # below about this drop an orifice runs laminar and its flow is proportional to the drop
LEAK, BLEED, CRACK, PER_SPAN, OPEN, KNEE, EXPONENT, SLOW = range(8)
PLAIN_ROWS = 6
MOST_DROP_PA = 1e9  # that any flow is driven by
DROP_DONE = 1e-13  # share of a drop (and pascals) by which its last step moves it
LEAST_LIFT = 1e-12  # where the slope of a power of the lift is taken at none


def stack(openings: Sequence[Opening], shaped: bool | None = None) -> Array:
    """Rows leak, bleed, crack, 1/span, open, knee, and exponent and slowness if any opening is shaped: (6 or 8, N)."""
    rows = [[o.leak_m3_s_pa, o.bleed_m2, o.crack_pa, 1.0 / o.span_pa, o.open_m2, o.knee] for o in openings]
    if any(o.is_shaped for o in openings) if shaped is None else shaped:
        rows = [[*row, o.exponent, o.half_at_reynolds / o.passage_m] for row, o in zip(rows, openings, strict=True)]
    return np.array(rows).T.copy()


def at_temperature(stacked: Array, oils: OilColumns, temperature_c: Array) -> Array:
    """The stack of (6 or 8, ..., N) with oil at a temperature put in: leak by viscosity, areas times sqrt(2 / density).

    `oils` and `temperature_c` have N members. Leak goes with one over the dynamic viscosity, from its value at 20 degC.
    Slowness becomes the root of the pressure drop at which the discharge coefficient is half of its turbulent value.
    """
    density = oils.density_kg_m3(temperature_c)
    viscosity = 1e-6 * oils.viscosity_mm2_s(temperature_c) * density
    out = stacked.copy()
    out[LEAK] *= oils.viscosity_20_pa_s / viscosity
    out[BLEED] *= np.sqrt(2.0 / density)
    out[OPEN] *= np.sqrt(2.0 / density)
    if len(out) > PLAIN_ROWS:
        out[SLOW] *= viscosity / density / np.sqrt(2.0 / density)
    return out


def flow(drop_pa: Array, valve: Array) -> tuple[Array, Array]:
    """Flow and its slope at a drop >= 0; `valve` is (6 or 8, *drop.shape) from `at_temperature`, shapes as `drop_pa`.

    Orifice Q = CdA sqrt(2 dp/rho) with a laminar start, clearance Q = G dp, spring-loaded lift in proportion to the
    excess pressure, or its power. The discharge coefficient falls at low Reynolds number of the jet, Re = d sqrt(2 dp /
    rho) / nu, as Re / (Re + Re_half): constant when turbulent, in proportion to Re when laminar, so that flow is then in
    proportion to drop over viscosity. Source: [merritt1967] ch. 3; the way between its two limits is our own.
    """
    square = drop_pa * drop_pa
    eased = square + TURBULENT_FROM_PA**2
    root = np.sqrt(np.sqrt(eased))
    if len(valve) > PLAIN_ROWS:
        slowed = root + valve[SLOW]
        orifice = drop_pa / slowed
        orifice_slope = (1.0 - 0.5 * square / eased * root / slowed) / slowed
    else:
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
    lift_slope = (low_corner - high_corner) / twice
    if len(valve) > PLAIN_ROWS:
        lift, lift_slope = _power(lift, lift_slope * valve[PER_SPAN], valve[EXPONENT])
    else:
        lift_slope = lift_slope * valve[PER_SPAN]
    area = valve[BLEED] + valve[OPEN] * lift
    leak = valve[LEAK]
    q = leak * drop_pa + area * orifice
    slope = leak + area * orifice_slope + valve[OPEN] * lift_slope * orifice
    return q, slope


def _power(lift: Array, slope: Array, exponent: Array) -> tuple[Array, Array]:
    """Open share and its slope as a power of the lift: a stack of shims bends in no simple proportion. Source: own."""
    held = np.maximum(lift, LEAST_LIFT)
    return np.where(lift > 0.0, held**exponent, 0.0), slope * exponent * held ** (exponent - 1.0)


def drop_for(flow_m3_s: Array, opening: Opening, oil: Oil, temperature_c: float = 20.0) -> Array:
    """Pressure drop that drives a flow >= 0, by Newton's steps within a bracket; same shape. Inverse of `flow`.

    A closed opening gives infinity wherever flow is asked for.
    """
    one = at_temperature(stack([opening]), OilColumns([oil]), np.array([temperature_c]))
    valve = np.broadcast_to(one.reshape(len(one), *(1,) * flow_m3_s.ndim), (len(one), *flow_m3_s.shape))
    low, high = np.zeros_like(flow_m3_s), np.full_like(flow_m3_s, MOST_DROP_PA)
    drop = 0.5 * (low + high)
    for _ in range(100):
        passed, slope = flow(drop, valve)
        short = passed < flow_m3_s
        low, high = np.where(short, drop, low), np.where(short, high, drop)
        last, drop = drop, drop - (passed - flow_m3_s) / np.maximum(slope, 1e-300)
        drop = np.where((drop >= low) & (drop <= high), drop, 0.5 * (low + high))
        if (np.abs(drop - last) <= DROP_DONE * last + DROP_DONE).all():
            break
    reachable = flow(np.full_like(flow_m3_s, MOST_DROP_PA), valve)[0] >= flow_m3_s
    return np.where(flow_m3_s <= 0.0, 0.0, np.where(reachable, drop, np.inf))


def round_holes(diameter_m: float, count: int = 1, discharge: float = 0.7) -> float:
    """Effective area of drilled holes, discharge coefficient in it [m2]. Source: [merritt1967] ch. 3."""
    return float(discharge * count * 0.25 * np.pi * diameter_m**2)


def with_leak(opening: Opening, leak_m3_s_pa: float) -> Opening:
    """The opening with a clearance of so much flow per pressure drop beside it."""
    return replace(opening, leak_m3_s_pa=opening.leak_m3_s_pa + leak_m3_s_pa)
