"""Comfort and wheel contact with the damper as it is: random road, kerb, bump."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from dampkit.needs.corner import Corner
from dampkit.needs.road import bump_m, kerb_m, random_road_m, roughness_m3
from dampkit.needs.simulate import Cases, Motion, cases_of, half_step_times, run_over
from dampkit.needs.weighting import weighted_rms_m_s2
from dampkit.needs.wheel_curve import WheelCurves
from dampkit.quantities import Array

PERIOD_S = 10.0  # of the random road; body motion dies out many times within it
STILL_SHARE = 0.05  # of the largest swing: below it the body counts as still; own choice
EVENT_S = 4.0


@dataclass(frozen=True)
class Road:
    """How rough and how fast; the default is a fair main road at 72 km/h."""

    road_class: str = "B"
    speed_m_s: float = 20.0
    seed: int = 1


@dataclass(frozen=True)
class RoadRide:
    """Arrays of shape (cases,). Tyre-load variation is root mean square over standing load."""

    weighted_acceleration_m_s2: Array
    tyre_load_variation_ratio: Array
    travel_rms_m: Array
    acceleration_rms_m_s2: Array
    tyre_force_rms_n: Array
    top_travel_speed_m_s: Array


@dataclass(frozen=True)
class EventRide:
    """Arrays of shape (cases,). `least_load_ratio` is over standing load: 0 is off the ground."""

    peak_acceleration_m_s2: Array
    compression_used_m: Array
    extension_used_m: Array
    least_load_ratio: Array
    swings_until_still_count: Array


def ride_on_road(cases: Cases, road: Road = Road()) -> RoadRide:
    """Steady figures on a random road: one period to settle, one to measure. Source: [iso8608], [iso2631]."""
    step = PERIOD_S / np.ceil(PERIOD_S / cases.safe_step_s)
    points = round(PERIOD_S / step)
    period = random_road_m(2 * points, 0.5 * step, roughness_m3(road.road_class), road.speed_m_s, road.seed)
    profile = np.concatenate([period * np.linspace(0, 1, period.size), period, period[:1]])
    motion = _last(run_over(cases, profile, step), points)
    tyre = _rms(motion.tyre_force_n)
    return RoadRide(
        weighted_acceleration_m_s2=weighted_rms_m_s2(motion.acceleration_m_s2, step),
        tyre_load_variation_ratio=tyre / cases.static_tyre_load_n,
        travel_rms_m=_rms(motion.travel_m - motion.travel_m.mean(axis=0)),
        acceleration_rms_m_s2=_rms(motion.acceleration_m_s2),
        tyre_force_rms_n=tyre,
        top_travel_speed_m_s=np.abs(motion.travel_speed_m_s).max(axis=0),
    )


def over_kerb(cases: Cases, height_m: float = 0.05, speed_m_s: float = 5.0) -> EventRide:
    """Up a kerb at walking pace or somewhat more."""
    times = half_step_times(EVENT_S, cases.safe_step_s)
    return _event(cases, kerb_m(times, height_m, speed_m_s))


def over_bump(cases: Cases, height_m: float = 0.05, length_m: float = 0.5, speed_m_s: float = 8.0) -> EventRide:
    """Over a half-sine bump."""
    times = half_step_times(EVENT_S, cases.safe_step_s)
    return _event(cases, bump_m(times, height_m, length_m, speed_m_s))


@dataclass(frozen=True)
class TradeOff:
    """Both axes of the choice, shape (wheel rates, damping factors) each."""

    wheel_rate_n_m: Array
    damping_factor_ratio: Array
    weighted_acceleration_m_s2: Array
    tyre_load_variation_ratio: Array


def trade_off(corner: Corner, curves: WheelCurves, rates: Array, factors: Array, road: Road = Road()) -> TradeOff:
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


def swings_until_still(body_m: Array, height_m: float) -> Array:
    """Whole swings of the body about its new height before they stay below STILL_SHARE of the first; shape (cases,).

    `body_m` has shape (points, cases). Counted at the turning points, half a swing each, so 0.5 is one overshoot.
    """
    away = body_m - height_m
    inner = away[1:-1]
    turns = (inner - away[:-2]) * (away[2:] - inner) < 0
    size = np.where(turns, np.abs(inner), 0.0)
    return np.asarray(0.5 * (size > STILL_SHARE * np.abs(away).max(axis=0)).sum(axis=0))


def _event(cases: Cases, road_m: Array) -> EventRide:
    motion = run_over(cases, road_m, cases.safe_step_s)
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
