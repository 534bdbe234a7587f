"""A force channel of few bits: rounding moves whole half-strokes, and the intervals must know it."""

from __future__ import annotations

import numpy as np
import pytest

from dampkit.bench.run import Run
from dampkit.damper.uncertainty import row_noise_n
from dampkit.quantities import read_only
from dampkit.studies.fit import fitted
from dampkit.virtual.programme import standard_programme
from dampkit.virtual.rig import Rig, run_bench
from dampkit.virtual.units import random_unit

UNITS = 10


@pytest.mark.slow
def test_friction_holds_within_its_interval_on_a_bench_of_eight_bits() -> None:
    """Made-up twin tubes; 5 kN over 256 steps of 19.5 N, noise of 1 N: far too little to wash the steps out.

    Without the rounding in it the interval held 60 % of them.
    """
    rng = np.random.default_rng(8)
    rig = Rig(sample_rate_hz=500.0, force_noise_n=1.0, force_step_n=5000 / 2**8)
    units = [random_unit(rng, "twin-tube") for _ in range(UNITS)]
    logs = run_bench(units, standard_programme((0.005, 0.05, 0.1, 0.3, 1.0)), rig, rng)
    held = 0
    for unit, log in zip(units, logs, strict=True):
        friction = fitted(unit, log, rig).friction_force_n
        assert friction is not None
        assert friction.half_width > 2.0  # a tenth of a step is no claim that such a bench can make
        held += friction.low <= unit.friction.sliding_n <= friction.high
    assert held >= UNITS - 1


@pytest.mark.parametrize(("noise_n", "turns_hz"), [(0.5, 1.0), (3.0, 1.0), (3.0, 8.0)])
def test_noise_of_rows_is_read_through_motion_and_reversals(noise_n: float, turns_hz: float) -> None:
    """Against the standard deviation that was put in: numpy's normal deviates on a sine with friction's jumps."""
    t = np.arange(6000) / 500.0
    force = 800 * np.cos(2 * np.pi * turns_hz * t) + 5 * np.sign(np.cos(2 * np.pi * turns_hz * t))
    force = force + np.random.default_rng(2).normal(0.0, noise_n, t.size)
    x = read_only(np.sin(2 * np.pi * turns_hz * t))
    run = Run("made up", "0" * 64, t.size, read_only(t), x, read_only(force))
    assert row_noise_n(run, 0, t.size) == pytest.approx(noise_n, rel=0.1)
