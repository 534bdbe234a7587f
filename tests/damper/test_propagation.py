"""Uncertainty carried from inputs to outputs, and the bench's own share."""

from __future__ import annotations

import numpy as np
import pytest

from dampkit.curves.trace import trace
from dampkit.damper.bench_share import BenchShare
from dampkit.quantities import Estimate, propagated
from tests.curves.helpers import sine_run


def test_gum_h2_resistance_reactance_impedance() -> None:
    """Five simultaneous readings of voltage, current and phase. Source: JCGM 100:2008, H.2 [jcgm100], from memory."""
    volts = np.array([5.007, 4.994, 5.005, 4.990, 4.999])
    amps = 1e-3 * np.array([19.663, 19.639, 19.640, 19.685, 19.678])
    phase = np.array([1.0456, 1.0438, 1.0468, 1.0428, 1.0433])
    v, i, f = volts.mean(), amps.mean(), phase.mean()
    covariance = np.cov(np.stack([volts, amps, phase])) / 5
    outputs = np.array([v / i * np.cos(f), v / i * np.sin(f), v / i])
    gradient = np.array(
        [
            [np.cos(f) / i, -v * np.cos(f) / i**2, -v * np.sin(f) / i],
            [np.sin(f) / i, -v * np.sin(f) / i**2, v * np.cos(f) / i],
            [1 / i, -v / i**2, 0.0],
        ]
    )
    spread = propagated(gradient, covariance)
    np.testing.assert_allclose(outputs, [127.732, 219.847, 254.260], atol=6e-4)
    np.testing.assert_allclose(np.sqrt(np.diag(spread)), [0.071, 0.295, 0.236], atol=6e-4)
    deviations = np.sqrt(np.diag(spread))
    correlation = spread / np.outer(deviations, deviations)
    assert correlation[0, 1] == pytest.approx(-0.588, abs=1e-3)
    assert correlation[0, 2] == pytest.approx(-0.485, abs=1e-3)
    assert correlation[1, 2] == pytest.approx(0.993, abs=1e-3)


def share(**declared: float) -> BenchShare:
    run = sine_run(lambda x, v: 900 * v, ((0.05, 1.0, 4),))
    known = type(run)(**{**run.__dict__, **declared})
    return BenchShare.of(known, trace(run).loops)


def test_a_share_of_force_widens_a_force_and_half_as_much_an_area() -> None:
    sure = Estimate(1000.0, 1000.0, 1000.0)
    bench = share(force_percent=2.0)
    force, area = bench.widen(sure, "blowoff_force"), bench.widen(sure, "bleed_area")
    assert force is not None
    assert area is not None
    assert force.half_width == pytest.approx(20.0)
    density = 0.5 * 7.5e-4 * 45 / 12**0.5  # half of the density's, whose temperature is not told: 15 to 60 degC
    assert area.half_width == pytest.approx(float(np.hypot(10.0, 1.96 * 1000 * density)), rel=1e-4)


def test_newtons_of_offset_go_into_the_gas_force_alone() -> None:
    bench = share(force_uncertainty_n=5.0)
    gas, friction = (bench.widen(Estimate(100.0, 97.0, 103.0), what) for what in ("gas_force", "friction"))
    assert gas is not None
    assert friction is not None
    assert gas.half_width == pytest.approx(np.hypot(3.0, 5.0))
    assert friction.half_width == pytest.approx(3.0)


def test_nothing_declared_changes_nothing() -> None:
    given = Estimate(100.0, 90.0, 120.0)
    assert share().widen(given, "slope") == given
    assert share(force_percent=1.0).widen(None, "slope") is None
