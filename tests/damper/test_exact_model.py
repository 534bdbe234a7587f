"""Where the model is exact: the estimator against the Cramer-Rao bound."""

from __future__ import annotations

import numpy as np
import pytest

from dampkit.damper.least_squares import least_squares
from dampkit.damper.points import Points
from dampkit.quantities import Array
from tests.damper.exact import MODEL, P, all_points, covariance_bound, loops

NOISE_N, CYCLES = 4.0, 4
SIGMA = NOISE_N / CYCLES**0.5


def residuals(p: Array, points: Points) -> Array:
    return np.asarray((MODEL.force(p, points) - points.force_n) / SIGMA)


@pytest.mark.slow
def test_estimator_variance_is_at_the_cramer_rao_bound() -> None:
    """Mean of the normalised square error of 80 runs; its own spread is sqrt(2 / (80 K)) a parameter."""
    rng = np.random.default_rng(11)
    normalised = []
    for _ in range(80):
        points = all_points(loops(NOISE_N, rng, CYCLES))
        bound = covariance_bound(points, SIGMA)
        fit = least_squares(
            lambda p, points=points: residuals(p, points),  # type: ignore[misc]
            lambda p, points=points: MODEL.jacobian(p, points) / SIGMA,  # type: ignore[misc]
            P * 1.05,
        )
        miss = fit.parameters - P
        normalised.append(float(miss @ np.linalg.solve(bound, miss)) / P.size)
    ratio = float(np.mean(normalised))
    assert 0.9 < ratio < 1.15
