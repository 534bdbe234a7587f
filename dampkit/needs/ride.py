"""Comfort and wheel contact with the damper as it is: random road, kerb, bump."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, fields, replace

import numpy as np

from dampkit.needs.corner import Corner
from dampkit.needs.road import FAIR_ROAD, Road, bump_m, kerb_m, random_road_m, roughness_m3
from dampkit.needs.simulate import Cases, Motion, cases_of, half_step_times, run_over, step_for
from dampkit.needs.weighting import weighted_rms_m_s2
from dampkit.needs.wheel_curve import WheelCurves
from dampkit.quantities import Array

PERIOD_S = 8.0  # of the random road
SETTLE_S = 5.0  # before it, for body motion to become steady
STILL_SHARE = 0.05  # of the largest swing: below it the body counts as still; own choice
STILL_M = 0.001  # and below this in any case: nobody sees less; own choice
LIGHT_SHARE = 0.2  # of standing tyre load, under which braking and steering are weak; own choice
EVENT_S = 3.0
PUSH_M = 0.04  # of a push-down check by hand; common practice, no source


@dataclass(frozen=True)
class RoadRide:
    """Arrays of shape (cases,). Tyre-load variation is root mean square over standing load.

    `light_load_ratio` is the share of time with less than LIGHT_SHARE of the standing load on the tyre.
    """

    weighted_acceleration_m_s2: Array
    tyre_load_variation_ratio: Array
    travel_rms_m: Array
    acceleration_rms_m_s2: Array
    tyre_force_rms_n: Array
    top_travel_speed_m_s: Array
    compression_used_m: Array
    extension_used_m: Array
    light_load_ratio: Array

    def part(self, which: slice) -> RoadRide:
        """Some of the cases."""
        return RoadRide(**{field.name: getattr(self, field.name)[which] for field in fields(self)})


@dataclass(frozen=True)
class EventRide:
    """Arrays of shape (cases,). `least_load_ratio` is over standing load: 0 is off the ground."""

    peak_acceleration_m_s2: Array
    compression_used_m: Array
    extension_used_m: Array
    least_load_ratio: Array
    swings_until_still_count: Array


def ride_on_road(cases: Cases, road: Road | Sequence[Road] = FAIR_ROAD) -> RoadRide:
    """Steady figures on a random road, or each case on a road of its own. Source: [iso8608], [iso2631]."""
    points = math.ceil(PERIOD_S / step_for(cases))
    step = PERIOD_S / points
    settling = round(SETTLE_S / step)
    roads = (road,) if isinstance(road, Road) else tuple(road)
    made = {one: _heights(one, points, settling, step) for one in dict.fromkeys(roads)}
    profile = np.stack([made[one] for one in roads], axis=1)
    motion = _last(run_over(cases, profile, step), points)
    tyre, load = motion.tyre_force_n, cases.static_tyre_load_n
    return RoadRide(
        weighted_acceleration_m_s2=weighted_rms_m_s2(motion.acceleration_m_s2, step),
        tyre_load_variation_ratio=_rms(tyre) / load,
        travel_rms_m=_rms(motion.travel_m - motion.travel_m.mean(axis=0)),
        acceleration_rms_m_s2=_rms(motion.acceleration_m_s2),
        tyre_force_rms_n=_rms(tyre),
        top_travel_speed_m_s=np.abs(motion.travel_speed_m_s).max(axis=0),
        compression_used_m=np.maximum(0.0, -motion.travel_m.min(axis=0)),
        extension_used_m=np.maximum(0.0, motion.travel_m.max(axis=0)),
        light_load_ratio=np.asarray((tyre < (LIGHT_SHARE - 1) * load).mean(axis=0)),
    )


def _heights(road: Road, points: int, settling: int, step: float) -> Array:
    """At every half step: the end of the period, fading in, then the whole period."""
    gd0 = roughness_m3(road.road_class)
    period = random_road_m(2 * points, 0.5 * step, gd0, road.speed_m_s, road.seed)
    lead = period[-2 * settling :] * np.linspace(0, 1, 2 * settling)
    return np.concatenate([lead, period, period[:1]])


def over_kerb(cases: Cases, height_m: float = 0.05, speed_m_s: float = 5.0) -> EventRide:
    """Up a kerb at walking pace or somewhat more."""
    times = half_step_times(EVENT_S, step_for(cases))
    return _event(cases, kerb_m(times, height_m, speed_m_s))


def over_bump(cases: Cases, height_m: float = 0.05, length_m: float = 0.5, speed_m_s: float = 8.0) -> EventRide:
    """Over a half-sine bump."""
    times = half_step_times(EVENT_S, step_for(cases))
    return _event(cases, bump_m(times, height_m, length_m, speed_m_s))


def pushed_down(cases: Cases, depth_m: float = PUSH_M) -> Array:
    """Swings until still of a body pushed down by hand and let go, shape (cases,)."""
    step = step_for(cases)
    motion = run_over(cases, np.zeros_like(half_step_times(EVENT_S, step)), step, pushed_m=depth_m)
    return swings_until_still(motion.body_m, 0.0, depth_m)


@dataclass(frozen=True)
class TradeOff:
    """Both axes of the choice, shape (wheel rates, damping factors) each."""

    wheel_rate_n_m: Array
    damping_factor_ratio: Array
    weighted_acceleration_m_s2: Array
    tyre_load_variation_ratio: Array


def trade_off(corner: Corner, curves: WheelCurves, rates: Array, factors: Array, road: Road = FAIR_ROAD) -> TradeOff:
    """Comfort and wheel contact for every wheel rate with every scaling of one damper's curve.

    Softer springs are kinder to people, firmer damping to the contact of the wheel, up to a point: there is no one
    best, so both figures are given. Raises ValueError where `curves` holds more than one case.
    """
    if curves.cases != 1:
        raise ValueError(f"{curves.cases} curves; a trade-off is about one")
    grid = np.meshgrid(rates, factors, indexing="ij")
    result = ride_on_road(cases_of(corner, curves.scaled(grid[1].ravel()), grid[0].ravel()), road)
    shape = grid[0].shape
    return TradeOff(
        grid[0],
        grid[1],
        result.weighted_acceleration_m_s2.reshape(shape),
        result.tyre_load_variation_ratio.reshape(shape),
    )


def swings_until_still(body_m: Array, height_m: float, first_m: float | None = None) -> Array:
    """Whole swings of the body about its new height before they stay below STILL_SHARE of the first; shape (cases,).

    `body_m` has shape (points, cases); `first_m` is the size of the first swing where it is known, the largest seen
    otherwise. Counted at the turning points, half a swing each, so 0.5 is one overshoot.
    """
    away = body_m - height_m
    inner = away[1:-1]
    turns = (inner - away[:-2]) * (away[2:] - inner) < 0
    size = np.where(turns, np.abs(inner), 0.0)
    least = STILL_SHARE * (np.abs(away).max(axis=0) if first_m is None else first_m)
    return np.asarray(0.5 * (size > np.maximum(least, STILL_M)).sum(axis=0))


def _event(cases: Cases, road_m: Array) -> EventRide:
    motion = run_over(cases, road_m, step_for(cases))
    return EventRide(
        peak_acceleration_m_s2=np.abs(motion.acceleration_m_s2).max(axis=0),
        compression_used_m=np.maximum(0.0, -motion.travel_m.min(axis=0)),
        extension_used_m=np.maximum(0.0, motion.travel_m.max(axis=0)),
        least_load_ratio=1 + motion.tyre_force_n.min(axis=0) / cases.static_tyre_load_n,
        swings_until_still_count=swings_until_still(motion.body_m, float(road_m[-1])),
    )


def _last(motion: Motion, points: int) -> Motion:
    names = ("body_m", "acceleration_m_s2", "travel_m", "travel_speed_m_s", "tyre_force_n")
    return replace(motion, **{name: getattr(motion, name)[-points:] for name in names})


def _rms(values: Array) -> Array:
    return np.asarray(np.sqrt((values**2).mean(axis=0)))
