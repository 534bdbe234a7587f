"""Tolerance factors against published tables."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.stats import norm

from dampkit.expected.tolerance import two_sided_k

# Two-sided, 95 % of the units with 95 % confidence, mean and deviation unknown: ISO 16269-6 (Odeh and Owen), from memory
TWO_SIDED = {
    2: 36.519,
    3: 9.789,
    4: 6.341,
    5: 5.077,
    6: 4.422,
    7: 4.020,
    8: 3.746,
    9: 3.546,
    10: 3.393,
    20: 2.760,
    30: 2.555,
}


@pytest.mark.parametrize("count", TWO_SIDED)
def test_two_sided_table(count: int) -> None:
    assert two_sided_k(count) == pytest.approx(TWO_SIDED[count], abs=6e-4)


def test_it_holds_what_it_claims() -> None:
    """Drawn: of 4000 samples of 6, the share whose limits hold at least 95 % of the units; 95 % +/- 4 standard errors."""
    rng = np.random.default_rng(5)
    draws = rng.normal(size=(4000, 6))
    mean, deviation = draws.mean(axis=1), draws.std(axis=1, ddof=1)
    k = two_sided_k(6)
    held = norm.cdf(mean + k * deviation) - norm.cdf(mean - k * deviation)
    assert float((held >= 0.95).mean()) == pytest.approx(0.95, abs=4 * np.sqrt(0.95 * 0.05 / 4000))


@pytest.mark.parametrize(("count", "share", "confidence"), [(1, 0.95, 0.95), (5, 1.0, 0.95), (5, 0.95, 0.0)])
def test_what_makes_no_sense_is_refused(count: int, share: float, confidence: float) -> None:
    with pytest.raises(ValueError, match="at least 2"):
        two_sided_k(count, share, confidence)
