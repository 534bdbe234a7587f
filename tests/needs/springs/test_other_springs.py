"""Coil, torsion bar, combinations and a measured spring."""

from __future__ import annotations

import math

import numpy as np
import pytest

from dampkit.errors import CannotAnalyse
from dampkit.needs.springs.declared import in_parallel, in_series
from dampkit.needs.springs.leaf import HelperSpring
from dampkit.needs.springs.measured import spring_from_log
from dampkit.needs.springs.twisted import CoilSpring, TorsionBar, lever_rate_n_m
from dampkit.quantities import Array

INCH_M, LBF_N, PSI_PA = 0.0254, 4.4482216152605, 6894.757293168
BAR = TorsionBar(0.025, 1.2)
TUBE = TorsionBar(0.036, 1.2, inner_diameter_m=0.028)


def test_shigley_music_wire_spring() -> None:
    """[shigley] Example 10-1 (from memory): 0.037 in wire, 0.400 in mean coil, 10.5 coils, 11.85 Mpsi: 4.13 lbf/in."""
    spring = CoilSpring(0.037 * INCH_M, 0.400 * INCH_M, 10.5, 11.85e6 * PSI_PA)
    assert spring.rate_n_m / (LBF_N / INCH_M) == pytest.approx(4.13, abs=0.005)


@pytest.mark.parametrize(("modulus", "rate"), [(79.3e9, 34.2576), (78.5e9, 33.912), (81.5e9, 35.208)])
def test_coil_by_hand(modulus: float, rate: float) -> None:
    """G d^4/(8 D^3 n), d 12, D 100, n 6: N/mm; the moduli of [shigley] and [en13906] (from memory)."""
    assert CoilSpring(0.012, 0.100, 6, modulus).rate_n_m / 1e3 == pytest.approx(rate, rel=1e-5)


def test_large_coils_are_a_straight_wire_in_torsion() -> None:
    """As the index grows the stress goes to T r/J of the wire alone (limit)."""
    spring = CoilSpring(0.001, 1.0, 5)
    assert spring.shear_stress_pa(10) == pytest.approx(10 * 0.5 * 16 / (math.pi * 0.001**3), rel=2e-3)


def test_bar_in_a_tube() -> None:
    """G pi D^4/(32 L) worked out by hand, G 79.3 GPa: bar 2534.264, tube 6909.158, both in series 1854.162 N m/rad."""
    assert BAR.rate_n_m_rad == pytest.approx(2534.264, rel=1e-6)
    assert TUBE.rate_n_m_rad == pytest.approx(6909.158, rel=1e-6)
    both = in_series(BAR.rate_n_m_rad, TUBE.rate_n_m_rad)
    assert both == pytest.approx(1854.162, rel=1e-6)
    assert lever_rate_n_m(both, 0.35) == pytest.approx(15136.0, rel=1e-5)


def test_lever_off_the_level_against_small_steps() -> None:
    twist_rate, lever, slack = 1854.0, 0.35, -0.6  # slack: lever angle without load

    def force(angle: float) -> float:
        return twist_rate * (angle - slack) / (lever * math.cos(angle))

    for angle in (-0.3, 0.0, 0.25):
        step = 1e-6
        travel = lever * (math.sin(angle + step) - math.sin(angle - step))
        slope = (force(angle + step) - force(angle - step)) / travel
        assert lever_rate_n_m(twist_rate, lever, angle, force(angle)) == pytest.approx(slope, rel=1e-6)


def test_parallel_and_series_agree_with_the_capacitor_rule() -> None:
    assert in_parallel(20.0, 30.0) == 50.0
    assert in_series(20.0, 30.0) == pytest.approx(12.0)


def test_helper_comes_in_late() -> None:
    spring = HelperSpring(50e3, 40e3, 0.04)
    assert [spring.rate_n_m(load) for load in (1900, 2100)] == [50e3, 90e3]


def spring_log(noise_n: float, friction_n: float = 120.0) -> tuple[Array, Array]:
    """Made up: 25 N/mm with a little stiffening, loaded and unloaded, half-width of the loop `friction_n`."""
    up = np.linspace(0, 0.2, 101)
    x = np.concatenate([up, up[::-1]])
    way = np.concatenate([np.ones(101), -np.ones(101)])
    load = 25e3 * x + 4e5 * (x - 0.12) ** 3 + friction_n * way
    return x, load + noise_n * np.random.default_rng(1).standard_normal(x.size)


def test_measured_log_gives_rate_and_friction() -> None:
    spring = spring_from_log(*spring_log(noise_n=5.0), ride_load_n=3000.0)
    assert spring.deflection_m == pytest.approx(0.12, abs=0.001)
    assert spring.rate_n_m.value == pytest.approx(25e3, rel=0.02)
    assert spring.friction_n is not None
    assert spring.friction_n.low < 120 < spring.friction_n.high
    assert spring.friction_n.half_width < 5


def test_one_way_log_has_no_friction() -> None:
    x, load = spring_log(noise_n=0.0)
    spring = spring_from_log(x[:101], load[:101], ride_load_n=3000.0)
    assert spring.friction_n is None
    assert spring.rate_n_m.value == pytest.approx(25e3, rel=0.02)


def test_log_short_of_the_ride_load_is_refused() -> None:
    x, load = spring_log(noise_n=0.0)
    with pytest.raises(CannotAnalyse, match="goes past the ride load of 9000 N"):
        spring_from_log(x, load, ride_load_n=9000.0)


def test_coarse_log_is_refused() -> None:
    x, load = spring_log(noise_n=0.0)
    with pytest.raises(CannotAnalyse, match="at smaller steps"):
        spring_from_log(x[::20], load[::20], ride_load_n=3000.0)
