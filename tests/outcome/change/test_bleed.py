"""Bleed holes against the closed form of the sharp orifice: F = (rho/2) A^3 v^2 / (C_d A_hole)^2 (Merritt ch. 3)."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from dampkit.damper.valve import Valve
from dampkit.outcome.change.bleed import CLOSE, choose_hole, diameter_mm, effective_area_mm2
from dampkit.outcome.change.levers import Ratios, changed
from dampkit.outcome.change.stock import COMMON_DRILLS_MM

DENSITY, AREA_M2 = 860.0, 0.25 * math.pi * (0.030**2 - 0.012**2)


def force_n(velocity_m_s: float, hole_mm2: float) -> float:
    """Closed form; `hole_mm2` effective."""
    return 0.5 * DENSITY * AREA_M2**3 * velocity_m_s**2 / (1e-6 * hole_mm2) ** 2


def test_worked_orifice() -> None:
    """Four holes of 1.5 mm, C_d 0.7, bore 30, rod 12, 860 kg/m3: worked out with a general flow library."""
    assert force_n(0.3, effective_area_mm2(1.5, 0.7, 4)) == pytest.approx(330.891, rel=1e-5)
    assert force_n(1.0, effective_area_mm2(1.5, 0.7, 4)) == pytest.approx(3676.57, rel=1e-5)


@given(now=st.floats(0.3, 6.0), wanted=st.floats(0.3, 6.0))
def test_the_drill_named_makes_the_force_wanted(now: float, wanted: float) -> None:
    """The bleed of the fitted valve, changed by the area of the hole named, gives the closed form's force."""
    hole = choose_hole(now, wanted, COMMON_DRILLS_MM, 0.65)
    bleed = math.sqrt(2 / DENSITY) * 1e-6 * now / AREA_M2**1.5
    valve = changed(Valve(bleed=bleed), Ratios(bleed=hole.area_mm2 / now))
    assert float(valve.force(np.array([0.1]))[0]) == pytest.approx(force_n(0.1, hole.area_mm2), rel=1e-8)
    assert hole.area_mm2 == pytest.approx(wanted, rel=0.06)  # two of the drills in steps of 0.05 mm


@given(wanted=st.floats(0.2, 12.0), holes=st.integers(1, 4))
def test_diameter_and_area_are_inverse(wanted: float, holes: int) -> None:
    assert effective_area_mm2(diameter_mm(wanted, 0.65, holes), 0.65, holes) == pytest.approx(wanted)


def test_a_single_nearest_drill_is_the_closed_form_rounded() -> None:
    """One hole in place of the present one: d = sqrt(4 A / (pi C_d)), to the nearest area of the set."""
    drills = (1.0, 1.2, 1.4, 1.6)
    wanted = 0.65 * 0.25 * math.pi * 1.38**2
    hole = choose_hole(3.0, wanted, drills, 0.65, most=1)
    assert hole.drills_mm == (1.4,)
    assert not hole.added


def test_more_area_is_made_by_a_hole_beside_the_present_one() -> None:
    hole = choose_hole(1.0, 1.0 + effective_area_mm2(0.8, 0.65), COMMON_DRILLS_MM, 0.65)
    assert (hole.drills_mm, hole.added) == ((0.8,), True)


def test_what_is_close_enough_is_left_alone() -> None:
    assert choose_hole(1.0, 1.0 + 0.9 * CLOSE, COMMON_DRILLS_MM, 0.65).drills_mm == ()
