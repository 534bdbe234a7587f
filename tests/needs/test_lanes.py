"""Lanes of a periodic road against one long run of it and against a general-purpose integrator."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from dampkit.needs import lanes
from dampkit.needs.corner import Corner
from dampkit.needs.lanes import lanes_over, one_after_another
from dampkit.needs.ride import EVENT_S
from dampkit.needs.road import FAIR_ROAD, Road, random_road_m, roughness_m3
from dampkit.needs.simulate import Cases, Drive, Stops, cases_of, run, step_for
from dampkit.needs.weighting import weighted_rms_m_s2
from dampkit.needs.wheel_curve import curves_from
from dampkit.quantities import GRAVITY_M_S2, Array
from tests.needs.made import SALOON
from tests.needs.rides import ride_on_road
from tests.needs.test_ride import digressive

SHARES = np.array([0.5, 1.0, 2.0])
PERIOD_S = lanes.LANES * lanes.LANE_S
ALLOWED = 0.005


def made(corner: Corner = SALOON, play_m: float = 0.0, stops: Stops | None = None) -> Cases:
    curves = curves_from(digressive, corner.motion_ratio).scaled(SHARES)
    return cases_of(corner, curves, play_m=np.full(SHARES.size, play_m), stops=stops)


def sizes(cases: Cases, drive: Drive) -> Array:
    """Root mean square of body acceleration, travel and tyre force, shape (3, cases)."""
    motion = run(cases, [drive], step_for(cases))[0]
    seen = (motion.acceleration_m_s2, motion.travel_m, motion.tyre_force_n)
    return np.stack([one_after_another(x).std(axis=0) for x in seen])


def over(cases: Cases, road: Road = FAIR_ROAD) -> Drive:
    return lanes_over(cases, [road] * SHARES.size, np.arange(SHARES.size), step_for(cases))


def long_run(monkeypatch: pytest.MonkeyPatch, cases: Cases) -> Array:
    """One lane, two periods before it."""
    with monkeypatch.context() as patch:
        patch.setattr(lanes, "LANES", 1)
        patch.setattr(lanes, "LANE_S", PERIOD_S)
        patch.setattr(lanes, "WARM_S", 2 * PERIOD_S)
        return sizes(cases, replace(over(cases), mend=None))


@pytest.mark.parametrize(
    "cases",
    [
        made(),
        made(play_m=0.001),
        made(replace(SALOON, spring_friction_n=200.0)),
        made(stops=Stops(0.012, 1e5, 0.012, 1e5)),
    ],
    ids=["plain", "play", "spring friction", "stops"],
)
def test_lanes_are_the_one_long_run(monkeypatch: pytest.MonkeyPatch, cases: Cases) -> None:
    """The stops are met by every case."""
    if cases.stops is not None:
        assert (ride_on_road(cases).compression_used_m > cases.stops.compression_m).all()
    assert sizes(cases, over(cases)) == pytest.approx(long_run(monkeypatch, cases), rel=ALLOWED)


def test_handing_on_and_a_longer_warm_up_each_bring_the_lanes_closer(monkeypatch: pytest.MonkeyPatch) -> None:
    cases = made()
    wanted = long_run(monkeypatch, cases)

    def error(warm_s: float, hand_on: bool) -> float:
        with monkeypatch.context() as patch:
            patch.setattr(lanes, "WARM_S", warm_s)
            drive = over(cases)
        return float(np.abs(sizes(cases, drive if hand_on else replace(drive, mend=None)) / wanted - 1).max())

    assert error(2.0, True) < error(2.0, False) < error(1.0, False)
    assert error(2.0, True) < error(1.0, True)


def test_a_straight_corner_begins_in_its_steady_state() -> None:
    """A plain damper needs no warm-up at all, but for what the wheel does above TOP_HZ."""
    cases = cases_of(SALOON, curves_from(lambda v: 2000 * v, SALOON.motion_ratio))
    step = step_for(cases)
    drive = lanes_over(cases, [FAIR_ROAD], np.zeros(1, dtype=np.intp), step)
    body = run(cases, [replace(drive, mend=None, seen=drive.points)], step)[0].travel_m
    lane = round(lanes.LANE_S / step)
    first, second = body[lane - 1, :-1], drive.start[0, 1:]  # where one lane is a lane later, the next began
    assert np.abs(first - second).max() < 0.01 * np.abs(second).max()


def test_wheels_that_leave_the_ground_are_not_handed_on_into_the_air() -> None:
    """A very rough road at speed, between hard stops: chaotic, so no figure repeats, but none may run away either."""
    cases, rough = made(stops=Stops(0.03, 3e5, 0.03, 3e5)), Road("E", 130 / 3.6)
    handed, left = over(cases, rough), replace(over(cases, rough), mend=None)
    assert sizes(cases, handed) == pytest.approx(sizes(cases, left), rel=0.3)


def test_lanes_take_no_longer_than_a_kerb() -> None:
    """Number of steps of the one loop: 1200 of 2.5 ms, where one after another would be 8800."""
    cases = made()
    assert over(cases).points == round(EVENT_S / step_for(cases)) == 1200


def general_ride(cases: Cases, i: int, rtol: float, road: Road = FAIR_ROAD, settle_s: float = 5.0) -> Array:
    """Weighted acceleration, tyre-load variation and travel of one case by solve_ivp with its usual method.

    One period after `settle_s` from rest; force and road from tables, in plain floats.
    """
    ms, mu, k, kt = (
        float(v[i]) for v in (cases.sprung_mass_kg, cases.unsprung_mass_kg, cases.wheel_rate_n_m, cases.tyre_rate_n_m)
    )
    step, finer = step_for(cases), 16
    points = round(PERIOD_S / step)
    spectrum = np.fft.rfft(
        random_road_m(2 * points, 0.5 * step, roughness_m3(road.road_class), road.speed_m_s, road.seed)
    )
    fine = np.fft.irfft(spectrum, finer * points) * finer / 2
    height, short = [*fine.tolist(), float(fine[0])], step / finer
    table, cells = cases.curves.force_n[i].tolist(), cases.curves.step_m_s
    middle, last, least = (len(table) - 1) // 2, len(table) - 2, -(ms + mu) * GRAVITY_M_S2

    def rate(t: float, y: Array) -> list[float]:
        body, wheel, body_speed, wheel_speed = y
        at = (t - settle_s) % PERIOD_S / short
        j = int(at)
        place = (body_speed - wheel_speed) / cells + middle
        cell = min(max(int(place), 0), last)
        up = k * (wheel - body) - table[cell] - (place - cell) * (table[cell + 1] - table[cell])
        tyre = max(kt * (height[j] + (at - j) * (height[j + 1] - height[j]) - wheel), least)
        return [body_speed, wheel_speed, up / ms, (tyre - up) / mu]

    seen = settle_s + step * np.arange(points + 1)
    body, wheel, body_speed, _ = solve_ivp(rate, (0, seen[-1]), np.zeros(4), t_eval=seen, rtol=rtol, atol=1e-3 * rtol).y
    tyre = np.maximum(kt * (np.append(fine[::finer][1:], fine[0]) - wheel[1:]), least)
    felt = weighted_rms_m_s2((np.diff(body_speed) / step)[:, None], step)[0]
    return np.array([felt, np.sqrt((tyre**2).mean()) / -least, (body - wheel)[1:].std()])


def our_ride(cases: Cases, road: Road = FAIR_ROAD) -> Array:
    """The same by lanes, shape (3, cases)."""
    ride = ride_on_road(cases, road)
    return np.stack([ride.weighted_acceleration_m_s2, ride.tyre_load_variation_ratio, ride.travel_rms_m])


@pytest.mark.parametrize("road", [FAIR_ROAD, Road("D", 60 / 3.6)], ids=["fair", "rough"])
def test_a_ride_agrees_with_a_general_integrator(road: Road) -> None:
    """On the rough one the wheel has little load left now and then."""
    cases = made()
    assert (ride_on_road(cases, road).light_load_ratio[1] > 0.01) == (road is not FAIR_ROAD)
    assert our_ride(cases, road)[:, 1] == pytest.approx(general_ride(cases, 1, 1e-5, road), rel=ALLOWED)
