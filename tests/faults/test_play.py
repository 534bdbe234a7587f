"""When a loop cannot show play: a corner over before the averaged points are, and a mass that may or may not be there."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from dampkit.faults.play import _blurred, _inertia_open_n, play_measures
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


@pytest.mark.parametrize("kg", [0.5, 2.0])
def test_what_is_open_is_the_inertia_at_the_turn(kg: float) -> None:
    """A sine turns with v^2 / r."""
    whole = _with_mass(0.8 * kg, kg)
    for loop in whole.moving:
        wanted = kg * loop.peak_velocity_m_s**2 / (0.5 * made.STROKE_M)
        assert _inertia_open_n(whole, loop) == pytest.approx(wanted, rel=0.02)


def test_play_within_its_limit_is_read_where_the_inertia_is_known() -> None:
    """Fast stages alone cannot rule play out while 3 kg may hang on the cell; the slow ones can."""
    ladder, fast = _with_mass(2.5, 3.0), (0.5, 0.75, 1.0)
    only = replace(
        ladder,
        measured=replace(ladder.curves, loops=tuple(x for x in ladder.curves.loops if x.peak_velocity_m_s in fast)),
    )
    assert [m.beyond < 0.05 for m in play_measures(ladder)] == [True]
    assert list(play_measures(only)) == []
