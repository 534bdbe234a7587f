"""Equivalent damping of loops whose answer is known in closed form."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from dampkit.bench.run import Run
from dampkit.damper.take_up import TakenOut
from dampkit.needs.ratio import equivalent_damping, stage_ratios
from dampkit.quantities import Array
from tests.needs.made import SALOON, crank_loop, sine_loop

NO_GAS = TakenOut()


def viscous(x: Array, v: Array) -> Array:
    return 1500.0 * v


def split(x: Array, v: Array) -> Array:
    """Rebound 3000, compression 1000 N s/m, behind 25 N of friction and a gas spring."""
    return np.asarray(np.where(v > 0, 3000.0, 1000.0) * v + 25 * np.sign(v) - 150 + 800 * x)


def some_run(**declared: float) -> Run:
    zero = np.zeros(2)
    return replace(Run("made.csv", "", 2, np.array([0.0, 1.0]), zero, zero), **declared)  # type: ignore[arg-type]


def test_quadratic_damper() -> None:
    """F = a v|v| gives c = 8 a V/(3 pi) [rao] ch. 3; a 5000, X 50 mm, 1.67 Hz: 2226.667 N s/m and 183.502 J."""
    loop = sine_loop(lambda x, v: 5000 * v * np.abs(v), 2 * math.pi * 1.67 * 0.05, half_stroke_m=0.05)
    assert equivalent_damping(loop) == pytest.approx(2226.667, rel=1e-5)
    assert loop.energy_j == pytest.approx(183.502, rel=1e-5)


def test_dry_friction() -> None:
    """4 F/(pi omega X) [rao] ch. 3: 50 N at X 50 mm, 1.67 Hz gives 121.343 N s/m."""
    loop = sine_loop(lambda x, v: 50 * np.sign(v), 2 * math.pi * 1.67 * 0.05, half_stroke_m=0.05)
    assert equivalent_damping(loop) == pytest.approx(121.343, rel=1e-4)


@pytest.mark.parametrize(("power", "factor"), [(0.5, 1.112836), (1.0, 1.0), (1.5, 0.915312), (2.0, 0.848826)])
def test_power_laws(power: float, factor: float) -> None:
    """c = a V^(n-1) gamma_n, gamma_n = 2/sqrt(pi) Gamma(n/2+1)/Gamma(n/2+3/2): closed form."""
    loop = sine_loop(lambda x, v: 800 * np.sign(v) * np.abs(v) ** power, 0.3)
    assert equivalent_damping(loop) == pytest.approx(800 * 0.3 ** (power - 1) * factor, rel=1e-4)


def test_crank_motion_still_gives_back_a_viscous_damper() -> None:
    assert equivalent_damping(crank_loop(viscous, 20.0)) == pytest.approx(1500.0, rel=1e-12)


def test_gas_and_zero_take_no_part_in_the_whole_loop() -> None:
    loop = sine_loop(lambda x, v: viscous(x, v) - 300 + 5000 * x, 0.3)
    assert equivalent_damping(loop) == pytest.approx(1500.0, rel=1e-12)


def test_ratio_of_a_viscous_damper() -> None:
    (ratio,) = stage_ratios([sine_loop(viscous, 0.3)], SALOON, NO_GAS)
    wanted = 1500 * 0.8**2 / (2 * math.sqrt(30e3 * 380))
    assert ratio.damping_ratio.value == pytest.approx(wanted, rel=1e-9)
    assert ratio.rebound_ratio == pytest.approx(wanted, rel=1e-3)


def test_halves_are_not_biased_by_gas_and_mean_to_the_whole() -> None:
    loops = [sine_loop(split, 0.005), sine_loop(split, 0.3)]
    slow, fast = stage_ratios(loops, SALOON, TakenOut(gas_n=150.0, gas_n_m=800.0))
    to_ratio = 0.64 / SALOON.critical_damping_n_s_m
    friction = 4 * 25 / (math.pi * 0.3)
    assert fast.rebound_ratio == pytest.approx((3000 + friction) * to_ratio, rel=0.02)
    assert fast.compression_ratio == pytest.approx((1000 + friction) * to_ratio, rel=0.02)
    for r in (slow, fast):
        assert 0.5 * (r.rebound_ratio + r.compression_ratio) == pytest.approx(r.damping_ratio.value, rel=0.01)


def test_interval_covers_the_spread_of_the_cycles() -> None:
    """Student's t for 4 cycles: 3.182 standard deviations over the root of 4 ([jcgm100] table G.2)."""
    loop = sine_loop(viscous, 0.3, cycles=4, noise_n=2.0)
    c = equivalent_damping(loop)
    (ratio,) = stage_ratios([loop], SALOON, NO_GAS)
    assert ratio.equivalent_damping_n_s_m.half_width == pytest.approx(3.182 * c.std(ddof=1) / 2, rel=1e-3)


def test_declared_bench_uncertainty_widens_the_interval() -> None:
    loop = sine_loop(viscous, 0.3)
    run = some_run(force_percent=0.5, force_uncertainty_n=2.0, displacement_uncertainty_m=20e-6)
    (ratio,) = stage_ratios([loop], SALOON, NO_GAS, run)
    parts = (0.005 * 1500, 4 * 2 / (math.pi * 0.3), 1500 * 20e-6 / 0.025)
    assert ratio.equivalent_damping_n_s_m.half_width == pytest.approx(math.hypot(*parts), rel=1e-9)


def test_one_cycle_is_not_taken_as_certain() -> None:
    (ratio,) = stage_ratios([crank_loop(viscous, 12.0)], SALOON, NO_GAS)
    assert ratio.damping_ratio.half_width / ratio.damping_ratio.value > 0.0499


def test_no_loops_no_ratios() -> None:
    assert stage_ratios([], SALOON, NO_GAS) == ()
