"""Moved load by moments, pitch and roll by simulation."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.signal import step

from dampkit.needs.whole_car import Swing, WholeCar
from dampkit.quantities import GRAVITY_M_S2

CAR = WholeCar(1000.0, 2.5, 0.5, 1.4, 0.6, (20e3, 25e3), 1100.0, 350.0)


def test_braking_by_moments_about_the_rear_contact() -> None:
    """Static front load W b/L plus m a h/L (equilibrium; [gillespie1992] ch. 1 has the same)."""
    a, m, length = 7.0, 1000.0, 2.5
    to_rear = CAR.arms_m[1]
    front = (m * GRAVITY_M_S2 * to_rear + m * a * 0.5) / length
    assert front - m * GRAVITY_M_S2 * 0.6 == pytest.approx(CAR.moved_along_n(a))


def test_cornering_lifts_the_inner_wheels_at_half_track_over_height() -> None:
    """Limit: at a = g t/(2 h) all load is on the outer wheels (equilibrium)."""
    a = GRAVITY_M_S2 * 1.4 / (2 * 0.5)
    assert CAR.moved_across_n(a) == pytest.approx(1000.0 * GRAVITY_M_S2 / 2)


def test_nose_dive_by_spring_travel() -> None:
    """With equal ends the front goes down by moved load over rate: moved/(2 k) at each end."""
    even = WholeCar(1000.0, 2.5, 0.5, 1.4, 0.5, (20e3, 20e3), 1100.0, 350.0)
    down = even.moved_along_n(7.0) / (2 * 20e3)
    assert even.pitch_angle_rad(7.0) == pytest.approx(down / 1.25)


def test_roll_grows_with_height_by_its_own_weight() -> None:
    stiff = 0.5 * 45e3 * 1.4**2
    assert CAR.roll_angle_rad(5.0) == pytest.approx(1000 * 0.5 * 5 / (stiff - 1000 * GRAVITY_M_S2 * 0.5))
    assert CAR.roll_angle_rad(5.0) > 1000 * 0.5 * 5 / stiff


@pytest.mark.parametrize("ratio", [0.15, 0.3, 0.6])
def test_overshoot_and_settling_against_a_step_response(ratio: float) -> None:
    """scipy.signal's step response of the same swing."""
    omega = 2 * math.pi * 1.5
    t, y = step(([omega**2], [1, 2 * ratio * omega, omega**2]), T=np.linspace(0, 8, 20001))
    swing = Swing(1.5, ratio)
    assert swing.overshoot_ratio == pytest.approx(y.max() - 1, rel=1e-3)
    settled = t[np.flatnonzero(np.abs(y - 1) > 0.05)[-1]]
    assert 0.6 * settled < swing.settle_s < 1.6 * settled  # the envelope, so within half a swing


def test_pitch_and_roll_take_their_dampers_at_their_arms() -> None:
    pitch, roll = CAR.pitch((1500.0, 1500.0)), CAR.roll((1500.0, 1500.0))
    assert pitch.frequency_hz == pytest.approx(math.sqrt(2 * (20e3 * 1.0**2 + 25e3 * 1.5**2) / 1100) / (2 * math.pi))
    assert roll.ratio == pytest.approx(1500 * 1.4**2 / (2 * math.sqrt(0.5 * 45e3 * 1.4**2 * 350)))
