"""The ride figures of one made-up unit hang together."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from dampkit.damper.unit import Side
from dampkit.needs.requirement import needed_forces
from dampkit.needs.ride_check import FORCE_SHARES, MEASURED, NEEDED, OTHER_ROADS, RATE_SHARES, WORN, ride_check
from dampkit.needs.road import Road
from dampkit.needs.simulate import Stops
from dampkit.quantities import Estimate
from tests.needs.made import SALOON
from tests.outcome.made import damper_fit, straight_side

OWN = RATE_SHARES.index(1.0) * len(FORCE_SHARES) + FORCE_SHARES.index(1.0)


def test_the_unit_itself_is_one_point_of_the_choice_and_one_of_the_roads() -> None:
    check = ride_check(damper_fit(), SALOON, needed_forces(SALOON), OTHER_ROADS[6])
    assert check is not None
    assert check.names == (MEASURED, NEEDED, WORN)
    for part, place in ((check.choice, OWN), (check.roads, 6)):
        assert part.weighted_acceleration_m_s2[place] == pytest.approx(check.road.weighted_acceleration_m_s2[0])
        assert part.tyre_load_variation_ratio[place] == pytest.approx(check.road.tyre_load_variation_ratio[0])
    half = RATE_SHARES.index(1.0) * len(FORCE_SHARES) + FORCE_SHARES.index(0.5)
    assert check.choice.weighted_acceleration_m_s2[half] == pytest.approx(check.road.weighted_acceleration_m_s2[2])
    assert check.within_test


def test_a_slow_bench_run_does_not_cover_the_road() -> None:
    slow = replace(damper_fit(), rebound=straight_side("rebound", 2000.0, top_m_s=0.05))
    check = ride_check(slow, SALOON, road=Road("C", 20.0))
    assert check is not None
    assert not check.within_test


def test_no_fit_no_ride() -> None:
    assert ride_check(replace(damper_fit(), rebound=Side("rebound")), SALOON) is None


def test_a_unit_far_too_stiff_for_the_car_has_no_ride() -> None:
    assert (
        ride_check(damper_fit(), replace(SALOON, motion_ratio=5.0, wheel_rate_n_m=3000.0, sprung_mass_kg=40.0)) is None
    )


def test_rougher_and_faster_is_harder_on_people_and_tyre() -> None:
    check = ride_check(damper_fit(), SALOON)
    assert check is not None
    grid = check.roads.weighted_acceleration_m_s2.reshape(5, 4)
    assert (np.diff(grid, axis=0) > 0).all()
    assert (np.diff(grid, axis=1) > 0).all()
    assert check.roads.light_load_ratio[-1] > 0.05 > check.roads.light_load_ratio[0]


def test_a_dry_leaf_spring_hides_a_dead_damper() -> None:
    """The observation of the trade: pushed down by hand, a car on dry leaves is still without any damper."""
    free = ride_check(damper_fit(), SALOON)
    dry = ride_check(damper_fit(), replace(SALOON, spring_friction_n=350.0))
    assert free is not None
    assert dry is not None
    assert free.dead_swings_count - free.push_swings_count[0] >= 1
    assert dry.dead_swings_count - dry.push_swings_count[0] <= 0.5


def test_lost_motion_lets_the_wheel_hop() -> None:
    unit, lost = damper_fit(), Estimate(6, 5, 7)
    sides = [replace(side, lost_motion_mm=lost) for side in unit.sides]
    loose = replace(unit, rebound=sides[0], compression=sides[1])
    tight, played = ride_check(damper_fit(), SALOON), ride_check(loose, SALOON)
    assert tight is not None
    assert played is not None
    assert played.play_m == pytest.approx(0.006 / 0.8)
    assert played.road.tyre_load_variation_ratio[0] > 1.1 * tight.road.tyre_load_variation_ratio[0]


def test_stops_take_up_what_a_kerb_leaves() -> None:
    stops = Stops(compression_m=0.03, compression_n_m=300e3)
    without, with_stop = ride_check(damper_fit(), SALOON), ride_check(damper_fit(), SALOON, stops=stops)
    assert without is not None
    assert with_stop is not None
    assert 0.03 < with_stop.kerb.compression_used_m[0] < without.kerb.compression_used_m[0]
    assert with_stop.kerb.peak_acceleration_m_s2[0] > without.kerb.peak_acceleration_m_s2[0]
