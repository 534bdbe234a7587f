"""Damping ratio at the speeds of a table: the energy of a sine, with friction, against closed forms.

Outside: E = pi c omega X^2 of a viscous damper, 4 F X of Coulomb friction and 8/3 k omega^2 X^3 of F = k v^2, [rao] ch. 3.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest

from dampkit.damper.identify import identify
from dampkit.needs.ratio import NO_STAGE, point_ratios
from dampkit.quantities import Array
from tests.damper.test_identify_points import SPEEDS, table
from tests.needs.made import SALOON

VISCOUS, SQUARE, COULOMB_N = 1200.0, 1500.0, 25.0
X_M = 0.03  # any amplitude: the closed forms below divide it out again


def viscous_j(peak: float) -> float:
    return math.pi * VISCOUS * (peak / X_M) * X_M**2


def square_j(peak: float) -> float:
    return 8 / 3 * SQUARE * (peak / X_M) ** 2 * X_M**3


def friction_j() -> float:
    return 4 * COULOMB_N * X_M


def equivalent(energy_j: float, peak: float) -> float:
    return energy_j / (math.pi * (peak / X_M) * X_M**2)


@pytest.mark.parametrize(
    ("law", "energy"),
    [(lambda v: VISCOUS * v, viscous_j), (lambda v: SQUARE * v**2, square_j)],
    ids=["viscous", "square"],
)
def test_ratio_of_closed_forms(law: Callable[[Array], Array], energy: Callable[[float], float]) -> None:
    unit = identify(table(law, friction_n=COULOMB_N))
    to_ratio = SALOON.motion_ratio**2 / SALOON.critical_damping_n_s_m
    ratios = point_ratios(unit, SALOON)
    assert [r.peak_velocity_m_s for r in ratios] == pytest.approx(list(SPEEDS))
    for r in ratios[1:]:
        wanted = equivalent(energy(r.peak_velocity_m_s) + friction_j(), r.peak_velocity_m_s)
        assert r.equivalent_damping_n_s_m.value == pytest.approx(wanted, rel=0.02)
        assert r.damping_ratio.value == pytest.approx(wanted * to_ratio, rel=0.02)
        assert r.damping_ratio.low <= wanted * to_ratio <= r.damping_ratio.high
        assert r.rebound_ratio == pytest.approx(r.compression_ratio, rel=1e-3)
        assert r.stage_index == NO_STAGE


def test_one_direction_makes_no_cycle() -> None:

    assert point_ratios(identify(replace(table(lambda v: VISCOUS * v), rebound=None)), SALOON) == ()


def test_up_to_the_speed_that_both_directions_reach() -> None:
    points = table(lambda v: VISCOUS * v)
    slower = table(lambda v: VISCOUS * v, SPEEDS[:5])

    unit = identify(replace(points, compression=slower.compression))
    assert max(r.peak_velocity_m_s for r in point_ratios(unit, SALOON)) == pytest.approx(0.3)
    assert np.all(np.array([r.damping_ratio.value for r in point_ratios(unit, SALOON)]) > 0)
