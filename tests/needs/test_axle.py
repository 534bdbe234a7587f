"""Bounce, pitch and tramp."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from scipy.linalg import eigh

from dampkit.needs.whole_car import BeamAxle, bounce_and_pitch
from tests.needs.made import SALOON

AXLE = BeamAxle(SALOON, track_m=1.3, spring_spacing_m=1.3, damper_spacing_m=1.3, roll_inertia_kg_m2=42 * 1.3**2 / 2)


def test_bounce_and_pitch_of_a_published_problem() -> None:
    """Problem read, answers computed: 1600 kg, 19 and 17 kN/m a spring, 2.9 m, 1.6 m ahead of the rear, r 0.95 m."""
    found = bounce_and_pitch(1600, 0.95, 38e3, 34e3, (1.3, 1.6))
    assert found.frequency_hz == pytest.approx((1.06550, 1.63032), rel=1e-5)
    assert sorted(abs(node) for node in found.node_m) == pytest.approx([0.052, 17.31], rel=5e-3)
    assert found.node_m[0] * found.node_m[1] < 0


def test_bounce_and_pitch_against_the_generalised_eigenvalues() -> None:
    stiffness = np.array([[72e3, 34e3 * 1.6 - 38e3 * 1.3], [34e3 * 1.6 - 38e3 * 1.3, 38e3 * 1.3**2 + 34e3 * 1.6**2]])
    wanted = eigh(stiffness, np.diag([1600, 1600 * 0.95**2]), eigvals_only=True)
    found = bounce_and_pitch(1600, 0.95, 38e3, 34e3, (1.3, 1.6))
    assert found.frequency_hz == pytest.approx(tuple(np.sqrt(wanted) / (2 * math.pi)))


def test_everything_at_the_wheels_tramps_as_it_hops() -> None:
    """Masses, springs and dampers all at the wheels: rocking is the same motion with one side turned over (limit)."""
    k, kt, mu = SALOON.wheel_rate_n_m, SALOON.tyre_rate_n_m, SALOON.unsprung_mass_kg
    assert AXLE.tramp_frequency_hz() == pytest.approx(math.sqrt((k + kt) / mu) / (2 * math.pi))
    assert AXLE.tramp_ratio(1500) == pytest.approx(1500 / (2 * math.sqrt((k + kt) * mu)))


def test_dampers_set_in_lose_with_the_square_of_their_spacing() -> None:
    narrow = replace(AXLE, damper_spacing_m=0.65)
    assert narrow.tramp_ratio(1500) == pytest.approx(AXLE.tramp_ratio(1500) / 4)
    assert narrow.share_in_tramp(0.65) == pytest.approx(0.25)
