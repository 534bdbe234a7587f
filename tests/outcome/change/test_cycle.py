"""Equivalent damping of known laws: Rao, Mechanical Vibrations, ch. 3 (Coulomb), Thomson (quadratic)."""

from __future__ import annotations

import math

import numpy as np
import pytest

from dampkit.needs.ratio import cycle_damping

PEAK = 0.05 * 2 * math.pi * 1.67
V = np.linspace(0.0, 1.0, 20_001)


def test_viscous() -> None:
    assert cycle_damping(PEAK, V, 1500.0 * V) == pytest.approx(1500.0)


def test_quadratic() -> None:
    """8 a V / (3 pi): a 5000, X 50 mm, 1.67 Hz gives 2226.667 N s/m."""
    assert cycle_damping(PEAK, V, 5000.0 * V**2) == pytest.approx(2226.667, rel=1e-4)


def test_coulomb() -> None:
    """4 F / (pi V): 50 N gives 121.343 N s/m."""
    assert cycle_damping(PEAK, V, np.full_like(V, 50.0)) == pytest.approx(121.343, rel=1e-4)
