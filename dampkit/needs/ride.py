"""Comfort and wheel contact with the damper as it is: random road, kerb, bump."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import fields

import numpy as np

from dampkit.frozen import frozen
from dampkit.needs.lanes import LANE_S, LANES, WARM_S, lanes_over, one_after_another
from dampkit.needs.road import Road, bump_m, kerb_m
from dampkit.needs.simulate import Cases, Drive, Motion, drive_over, half_step_times, run, step_for
from dampkit.needs.weighting import weighted_rms_m_s2
from dampkit.quantities import Array, Index

STILL_SHARE = 0.05  # of the largest swing: below it the body counts as still; own choice
STILL_M = 0.001  # and below this in any case: nobody sees less; own choice
LIGHT_SHARE = 0.2  # of standing tyre load, under which braking and steering are weak; own choice
EVENT_S = WARM_S + LANE_S  # kerb, bump and push-down run beside the lanes of the road
KERB_M, KERB_M_S = 0.05, 5.0
BUMP_M, BUMP_LENGTH_M, BUMP_M_S = 0.05, 0.5, 8.0
PUSH_M = 0.04  # of a push-down check by hand; common practice, no source


@frozen
class RoadRide:
    """Arrays of shape (cases,). Tyre-load variation is root mean square over standing load.

    `light_load_ratio` is the share of time with less than LIGHT_SHARE of the standing load on the tyre.
    """

    weighted_acceleration_m_s2: Array
    tyre_load_variation_ratio: Array
    travel_rms_m: Array
    top_travel_speed_m_s: Array
    compression_used_m: Array
    extension_used_m: Array
    light_load_ratio: Array

    def part(self, which: slice) -> RoadRide:
        """Some of the cases."""
        return RoadRide(**{field.name: getattr(self, field.name)[which] for field in fields(self)})


@frozen
class EventRide:
    """Arrays of shape (cases,). `least_load_ratio` is over standing load: 0 is off the ground."""

    peak_acceleration_m_s2: Array
    compression_used_m: Array
    extension_used_m: Array
    least_load_ratio: Array
    swings_until_still_count: Array


@frozen
class Rides:
    """`road` holds every ride asked for, kerb and bump the cases asked for, and so do the swings of a push-down."""

    road: RoadRide
    kerb: EventRide
    bump: EventRide
    push_swings_count: Array


def rides(cases: Cases, roads: Sequence[Road], case: Index, over: Index, pushed: Index) -> Rides:
    """Case `case[i]` on `roads[i]`, those in `over` over kerb and bump, those in `pushed` pushed down by PUSH_M and let go;
    all in one loop. Source: [iso8608], [iso2631]."""
    step = step_for(cases)
    times = half_step_times(EVENT_S, step)
    kerb = drive_over(kerb_m(times, KERB_M, KERB_M_S), over)
    bump = drive_over(bump_m(times, BUMP_M, BUMP_LENGTH_M, BUMP_M_S), over)
    push = drive_over(np.zeros_like(times), pushed, PUSH_M)
    road = lanes_over(cases, roads, case, step)
    on_road, up, across, let_go = run(cases, [road, kerb, bump, push], step)
    return Rides(
        road_ride(cases, road, on_road),
        event_ride(cases, kerb, up),
        event_ride(cases, bump, across),
        swings_until_still(let_go.body_m, 0.0, PUSH_M),
    )


def road_ride(cases: Cases, drive: Drive, motion: Motion) -> RoadRide:
    """Of a drive by `lanes_over`."""
    case = drive.case[::LANES]
    load = cases.static_tyre_load_n[case]
    acceleration, travel, speed, tyre = (
        one_after_another(x)
        for x in (motion.acceleration_m_s2, motion.travel_m, motion.travel_speed_m_s, motion.tyre_force_n)
    )
    return RoadRide(
        weighted_acceleration_m_s2=weighted_rms_m_s2(acceleration, motion.step_s),
        tyre_load_variation_ratio=_rms(tyre) / load,
        travel_rms_m=_rms(travel - travel.mean(axis=0)),
        top_travel_speed_m_s=np.abs(speed).max(axis=0),
        compression_used_m=np.maximum(0.0, -travel.min(axis=0)),
        extension_used_m=np.maximum(0.0, travel.max(axis=0)),
        light_load_ratio=np.asarray((tyre < (LIGHT_SHARE - 1) * load).mean(axis=0)),
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


def event_ride(cases: Cases, drive: Drive, motion: Motion) -> EventRide:
    """Of a drive from rest that ends on a new height."""
    return EventRide(
        peak_acceleration_m_s2=np.abs(motion.acceleration_m_s2).max(axis=0),
        compression_used_m=np.maximum(0.0, -motion.travel_m.min(axis=0)),
        extension_used_m=np.maximum(0.0, motion.travel_m.max(axis=0)),
        least_load_ratio=1 + motion.tyre_force_n.min(axis=0) / cases.static_tyre_load_n[drive.case],
        swings_until_still_count=swings_until_still(motion.body_m, float(drive.road_m[-1, 0])),
    )


def _rms(values: Array) -> Array:
    return np.asarray(np.sqrt((values**2).mean(axis=0)))
