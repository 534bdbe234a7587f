"""When a loop cannot show play: a corner over before the averaged points are, and a mass that may or may not be there."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from dampkit.faults.play import _blurred, _inertia_open_n, _noise_n, _over_stages, play_measures
from dampkit.faults.under_test import UnderTest
from dampkit.quantities import Estimate, read_only
from tests import made_loops as made
from tests.faults.made_unit import Made, test_of


def _with_mass(low_kg: float, value_kg: float) -> UnderTest:
    whole = test_of(Made())
    mass = Estimate(value_kg, low_kg, 2 * value_kg - low_kg)
    return replace(whole, unit=replace(whole.unit, moving_mass_kg=mass))


def test_a_triangle_turns_within_the_points_that_are_averaged() -> None:
    """512 points over twice the stroke of 50 mm: 0.2 mm a point, and slack at its limit is 0.4 mm long. A sine turns slowly."""
    loop = test_of(Made()).moving[0]
    turns = (np.arange(made.POINTS) / made.POINTS + 0.25) % 1.0
    triangle = made.STROKE_M * (0.5 - 2.0 * np.abs(turns - 0.5))
    assert not _blurred(loop)
    assert _blurred(replace(loop, displacement_m=read_only(triangle)))


@pytest.mark.parametrize(("rows", "blurred"), [(60, True), (90, True), (200, False), (1000, False)])
def test_a_fast_stroke_at_few_rows_a_second_turns_between_them(rows: int, blurred: bool) -> None:
    """Slack of 0.4 mm after the turn of a sine of 25 mm takes arccos(1 - 0.4 / 25) = 0.179 rad, of 200 rows 5.7.

    Averaged are 5 points of 512, 0.061 rad, and two rows are drawn as straight lines: 0.14 rad of 90 rows, 0.063 of 200.
    """
    loop = test_of(Made()).moving[-1]
    stage = replace(loop.stage, stop=loop.stage.start + rows * loop.stage.cycles)
    assert _blurred(replace(loop, stage=stage)) is blurred


@pytest.mark.parametrize("rows", [64, 128])
def test_rows_further_apart_than_points_lend_their_noise_to_several(rows: int) -> None:
    """Straight lines between rows hide the noise from point to point; over four cycles it is half of a row's."""
    whole, noise_n, cycles = test_of(Made(cycles=4)), 8.0, 4
    force = np.random.default_rng(rows).normal(0.0, noise_n, (cycles, rows))
    phase = np.arange(made.POINTS) / made.POINTS
    drawn = np.array([np.interp(phase, np.arange(rows) / rows, one, period=1.0) for one in force])
    loop = whole.moving[1]
    noisy = replace(
        loop, stage=replace(loop.stage, stop=loop.stage.start + force.size), force_n=read_only(loop.force_n + drawn)
    )
    test = replace(
        whole, measured=replace(whole.curves, run=replace(whole.curves.run, force_n=read_only(force.ravel())))
    )
    assert _noise_n(noisy, test) == pytest.approx(noise_n / cycles**0.5, rel=0.3)


@pytest.mark.parametrize("kg", [0.5, 2.0])
def test_what_is_open_is_the_inertia_at_the_turn(kg: float) -> None:
    """A sine turns with v^2 / r."""
    whole = _with_mass(0.8 * kg, kg)
    for loop in whole.moving:
        wanted = kg * loop.peak_velocity_m_s**2 / (0.5 * made.STROKE_M)
        assert _inertia_open_n(whole, loop) == pytest.approx(wanted, rel=0.02)


def test_one_speed_that_would_show_play_rules_it_out_and_does_not_find_it() -> None:
    tests = (test_of(Made()), test_of(Made(slack_mm=1.0)))
    one, found = (replace(t, measured=replace(t.curves, loops=t.curves.loops[2:3])) for t in tests)
    assert [m.beyond < 0.05 for m in play_measures(one)] == [True]
    assert list(play_measures(found)) == []


def test_two_speeds_that_do_not_agree_find_no_play() -> None:
    """A coarse cell at two slow speeds: the force rests for a while at each, and not alike."""
    assert _over_stages([4.9, 1.8, None], follows=False) == pytest.approx((1.8, 1.6), rel=0.05)
    assert _over_stages([1.05, 1.0, None], follows=False) == pytest.approx((1.0, 0.084), rel=0.05)


def test_stages_that_contradict_each_other_tell_nothing() -> None:
    """1.9 kg of fixture that nobody knows shift the resting force at fast turns, so that 0.6 mm show in a slow stage alone."""
    assert _over_stages([0.53, 0.0, 0.0, 0.0], follows=False) is None
    assert _over_stages([0.6, 0.64, 0.33, 0.08, 0.0], follows=False) is None
    assert _over_stages([0.1, 0.0, 0.05], follows=False) == pytest.approx((0.05, 0.09), abs=0.01)


def test_where_the_rod_follows_readings_that_fall_with_speed_agree() -> None:
    """A rod that gas moves shows more of it the slower; a valve that is stuck open rests at fast turns too little or at random."""
    assert _over_stages([3.45, 1.99, 1.16, 0.83, 0.74], follows=True) == pytest.approx((1.16, 0.08))
    falls_out_of_sight, at_random = (
        _over_stages(r, follows=True) for r in ([2.03, 1.09, 0.36], [0.61, 0.41, 1.04, 0.72])
    )
    assert falls_out_of_sight is not None
    assert falls_out_of_sight[1] > 0.5
    assert at_random is not None
    assert at_random[1] > 0.12


def test_play_within_its_limit_is_read_where_the_inertia_is_known() -> None:
    """Fast stages alone cannot rule play out while 3 kg may hang on the cell; the slow ones can."""
    ladder, fast = _with_mass(2.5, 3.0), (0.5, 0.75, 1.0)
    only = replace(
        ladder,
        measured=replace(ladder.curves, loops=tuple(x for x in ladder.curves.loops if x.peak_velocity_m_s in fast)),
    )
    assert [m.beyond < 0.05 for m in play_measures(ladder)] == [True]
    assert list(play_measures(only)) == []
