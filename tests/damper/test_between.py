"""What a test of few speeds leaves open: coefficients, lost motion and the curve, from how far the loops stray from the law."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from dampkit.damper.between import is_thin, loosened, with_law_error
from dampkit.damper.reading import curve_half_n
from dampkit.damper.take_up import HALF, lost_motion_mm, take_up
from dampkit.damper.unit import Law, Stray
from dampkit.damper.valve import Valve
from dampkit.quantities import Estimate, read_only
from tests.made_loops import FRICTION_N, law_of, loop_of, reading_of, unit_of, with_side

BLEED = Valve(bleed=0.006)


def strayed(share: float) -> Law:
    """A law whose loops stray by a share of its force at 0.05 m/s, and by nothing at 0 and at 0.1 m/s."""
    law = law_of(BLEED, 0.1)
    most = share * float(BLEED.force(np.array([0.05]))[0])
    return replace(law, stray=Stray(read_only([0.0, 0.05, 0.1]), read_only([0.0, most, 0.0])))


@pytest.mark.parametrize(("speeds", "thin"), [((0.005, 0.06, 0.2), True), ((0.005, 0.05, 0.1, 0.3), False)])
def test_a_law_is_thin_without_a_moving_speed_to_spare(speeds: tuple[float, ...], thin: bool) -> None:
    """A leak and a bleed are two parameters; the slow pass moves no valve."""
    assert is_thin(reading_of(law_of(BLEED, 0.5), FRICTION_N, speeds), 2) == thin


def test_coefficients_of_a_thin_law_are_as_unsure_as_the_force() -> None:
    """By hand: a tenth of the force is a twentieth of a bleed's area, as the root; squares of both parts add up."""
    known = replace(
        strayed(0.1), bleed_area_mm2=Estimate(2.0, 1.98, 2.02), blowoff_force_n=Estimate(300.0, 290.0, 310.0)
    )
    found = loosened(known)
    assert found.bleed_area_mm2 is not None
    assert found.bleed_area_mm2.half_width == pytest.approx((0.02**2 + 0.1**2) ** 0.5)
    assert found.blowoff_force_n is not None
    assert found.blowoff_force_n.half_width == pytest.approx((10.0**2 + 30.0**2) ** 0.5)
    assert loosened(replace(strayed(1.2), blowoff_force_n=Estimate(300.0, 290.0, 310.0))).blowoff_force_n is None
    assert loosened(law_of(BLEED)).bleed_area_mm2 is None


def test_lost_motion_of_a_thin_law_holds_what_its_rise_leaves_open() -> None:
    """A bleed reaches half of its force at root half of the speed: 10 % more or less there moves its travel so far."""
    unit, law = unit_of(BLEED, BLEED), strayed(0.1)
    seen = take_up(loop_of(unit, 0.1, late_mm=12.0), unit.taken_out, BLEED, "compression")
    assert seen is not None
    (open_,) = with_law_error([seen], law)
    speed = 0.1 * HALF**0.5
    off = float(np.interp(speed, law.stray.velocity_m_s, law.stray.half_n)) if law.stray else 0.0
    share = HALF + np.array([-1, 1]) * off / float(BLEED.force(np.array([0.1]))[0])
    travel = 0.025 * (1 - np.sqrt(1 - share))  # x = r (1 - cos), v / V = sin = root of the share of force
    assert open_.law_error_m == pytest.approx(0.5 * float(np.diff(travel)[0]), rel=0.05)
    sure, unsure = lost_motion_mm([seen], FRICTION_N), lost_motion_mm([open_], FRICTION_N)
    assert sure is not None
    assert unsure is not None
    added = (unsure.half_width**2 - sure.half_width**2) ** 0.5
    assert added == pytest.approx(1e3 * open_.law_error_m)


def test_the_curve_is_as_unsure_as_its_readings_friction_and_what_the_law_misses() -> None:
    """At 0.1 m/s by hand: half a percent of law and of reading, 0.3 N of friction, and a law that reads 20 N too much."""
    unit = unit_of(BLEED, BLEED, speeds_m_s=(0.05, 0.1))
    side = replace(unit.rebound, law=strayed(0.1))
    at_top = curve_half_n(side, with_side(unit, side))[-1]
    force = float(BLEED.force(np.array([0.1]))[0])
    assert unit.friction_force_n is not None
    parts = [0.005 * force, 0.005 * (force + FRICTION_N), unit.friction_force_n.half_width]
    assert at_top == pytest.approx(np.linalg.norm(parts), rel=1e-3)
    assert side.law is not None
    poor = replace(side, law=replace(side.law, force_n=side.law.force_n + 20.0, high_n=side.law.high_n + 20.0))
    assert curve_half_n(poor, unit)[-1] == pytest.approx(np.linalg.norm([*parts, 20.0]), rel=1e-3)
    at_half = curve_half_n(side, unit)[40]
    assert at_half > 0.1 * float(BLEED.force(np.array([0.05]))[0])
    assert curve_half_n(side, unit)[0] == 0.0
    plain = replace(side, law=law_of(BLEED, 0.1))
    assert curve_half_n(plain, unit) == pytest.approx(0.005 * law_of(BLEED, 0.1).force_n)


def test_the_curve_never_goes_above_the_height_of_the_loops() -> None:
    """Gas and zero shift one direction's reading into the other's, but both together are the loop's height, in which both have their part."""
    unit = unit_of(BLEED, BLEED, speeds_m_s=(0.05, 0.1))
    side = replace(
        unit.rebound, law=replace(law_of(BLEED, 0.1), stray=Stray(np.array([0.0, 0.1]), np.array([0.0, 1e6])))
    )
    height = sum(float(s.reading.force_n.max()) for s in unit.sides if s.reading is not None)
    assert side.law is not None
    above = side.law.force_n + curve_half_n(side, with_side(unit, side))
    assert above[20:] == pytest.approx(np.full(above.size - 20, height))
    assert above.max() <= height * (1 + 1e-9)
