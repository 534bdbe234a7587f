"""Every case over one road, kerb or bump by itself, as `dampkit.needs.ride.rides` runs them side by side."""

from __future__ import annotations

import numpy as np

from dampkit.needs.lanes import lanes_over, one_after_another
from dampkit.needs.ride import (
    BUMP_LENGTH_M,
    BUMP_M,
    BUMP_M_S,
    EVENT_S,
    KERB_M,
    KERB_M_S,
    EventRide,
    RoadRide,
    event_ride,
    road_ride,
)
from dampkit.needs.road import FAIR_ROAD, Road, bump_m, kerb_m
from dampkit.needs.simulate import Cases, Drive, Motion, drive_over, half_step_times, run, step_for
from dampkit.quantities import Array


def run_over(cases: Cases, road_m: Array, step_s: float) -> Motion:
    """Over one road, at rest before it."""
    return run(cases, [drive_over(road_m, np.arange(cases.curves.cases))], step_s)[0]


def over_road(cases: Cases, road: Road = FAIR_ROAD) -> tuple[Drive, Motion]:
    """The drive of a random road and what came out of it, in lanes."""
    every = np.arange(cases.curves.cases)
    drive = lanes_over(cases, [road] * every.size, every, step_for(cases))
    return drive, run(cases, [drive], step_for(cases))[0]


def ride_on_road(cases: Cases, road: Road = FAIR_ROAD) -> RoadRide:
    return road_ride(cases, *over_road(cases, road))


def sizes_on_road(cases: Cases, road: Road) -> tuple[float, float, float]:
    """Root mean squares of body acceleration, tyre force and travel of the first case."""
    motion = over_road(cases, road)[1]
    seen = (motion.acceleration_m_s2, motion.tyre_force_n, motion.travel_m - motion.travel_m.mean())
    acceleration, tyre, travel = (float(np.sqrt((one_after_another(x)[:, 0] ** 2).mean())) for x in seen)
    return acceleration, tyre, travel


def over_kerb(cases: Cases, height_m: float = KERB_M, speed_m_s: float = KERB_M_S) -> EventRide:
    return _event(cases, kerb_m(half_step_times(EVENT_S, step_for(cases)), height_m, speed_m_s))


def over_bump(cases: Cases) -> EventRide:
    return _event(cases, bump_m(half_step_times(EVENT_S, step_for(cases)), BUMP_M, BUMP_LENGTH_M, BUMP_M_S))


def _event(cases: Cases, road_m: Array) -> EventRide:
    drive = drive_over(road_m, np.arange(cases.curves.cases))
    return event_ride(cases, drive, run(cases, [drive], step_for(cases))[0])
