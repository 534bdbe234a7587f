"""Clamp forces by hand, and what friction cannot hold."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from dampkit.needs.friction_damper import FrictionDamper, friction_for_ratio, friction_ratio
from dampkit.needs.ratio import equivalent_damping
from tests.needs.made import SALOON, sine_loop

UNIT = FrictionDamper(0.040, 0.020, 4, 0.3, 0.2)


def test_torque_of_discs_by_hand() -> None:
    """[shigley] ch. 16 (from memory), uniform wear: T = mu N faces (R + r)/2 = 0.3 x 1000 x 4 x 0.03 = 36 N m."""
    assert UNIT.force_n(1000.0) == pytest.approx(36 / 0.2)
    assert UNIT.clamp_n(UNIT.force_n(1234.0)) == pytest.approx(1234.0)


def test_wanted_friction_measures_as_the_wanted_ratio() -> None:
    """Swung at the body's frequency with that amplitude its loop must have the energy of the ratio (bench of our own)."""
    friction, amplitude = friction_for_ratio(SALOON, 0.3, 0.02), 0.02
    peak = 2 * math.pi * SALOON.modes().body_frequency_hz * amplitude
    loop = sine_loop(lambda x, v: friction * np.sign(v), peak, half_stroke_m=amplitude)
    assert equivalent_damping(loop)[0] / SALOON.critical_damping_n_s_m == pytest.approx(0.3, rel=1e-3)


@given(st.floats(0.05, 1.0), st.floats(0.005, 0.05), st.floats(1.05, 4.0))
def test_friction_damps_small_swings_more_than_large_ones(ratio: float, swing: float, more: float) -> None:
    friction = friction_for_ratio(SALOON, ratio, swing)
    assert friction_ratio(SALOON, friction, swing) == pytest.approx(ratio)
    assert friction_ratio(SALOON, friction, more * swing) == pytest.approx(ratio / more)


@given(st.floats(200, 5000), st.floats(1.01, 3.0), st.floats(0.005, 0.05))
def test_a_tighter_joint_damps_more_at_every_amplitude(clamp: float, tighter: float, swing: float) -> None:
    loose, tight = (friction_ratio(SALOON, UNIT.force_n(n), swing) for n in (clamp, tighter * clamp))
    assert tight > loose
