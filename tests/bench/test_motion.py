"""Displacement from velocity, held against motion that is known in closed form."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from dampkit.bench.motion import displacement_from_velocity
from tests.bench.writer import made_run

TRUTH = made_run()
MIDDLE = 0.5 * (TRUTH.displacement_m.max() + TRUTH.displacement_m.min())
AMPLITUDE_M = 0.02


@settings(max_examples=25, deadline=None, derandomize=True)
@given(offset=st.floats(-0.05, 0.05), growth=st.floats(-0.001, 0.001))
def test_offset_and_slow_drift_are_taken_out(offset: float, growth: float) -> None:
    """Within 1 % of the half stroke, whatever the offset and however it grows up to 1 mm/s each second."""
    found = displacement_from_velocity(TRUTH.time_s, TRUTH.velocity_m_s + offset + growth * TRUTH.time_s).displacement_m
    assert np.max(np.abs(found - (TRUTH.displacement_m - MIDDLE))) < 0.01 * AMPLITUDE_M


def test_noise_of_a_bench_leaves_every_stage_periodic() -> None:
    rng = np.random.default_rng(3)
    noisy = TRUTH.velocity_m_s + rng.normal(0, 0.005, TRUTH.time_s.size)
    found = displacement_from_velocity(TRUTH.time_s, noisy).displacement_m
    # random walk of 0.005 m/s noise at 500 rows a second over the slowest stroke: 0.005/500*sqrt(500) = 0.22 mm
    assert np.max(np.abs(found - (TRUTH.displacement_m - MIDDLE))) < 5 * 0.22e-3


def test_what_was_taken_out_is_told() -> None:
    integrated = displacement_from_velocity(TRUTH.time_s, TRUTH.velocity_m_s + 0.01)
    assert integrated.offset_m_s == pytest.approx(0.01, abs=1e-4)
    assert integrated.wander_m < 1e-3


def test_no_motion_is_no_error() -> None:
    assert not displacement_from_velocity(np.arange(100) / 100, np.zeros(100)).displacement_m.any()
