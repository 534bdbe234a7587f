"""Damping from a dying swing, against worked examples."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from dampkit.needs.corner import Corner
from dampkit.needs.friction_damper import friction_ratio
from dampkit.needs.ratio import equivalent_damping
from tests.needs.made import SALOON, log_decrement, ratio_from_decrement, sine_loop


def test_motorcycle_shock_absorber() -> None:
    """[rao] ch. 2 (read): 200 kg, 2 s, a quarter in half a swing: delta 2.7726, zeta 0.4037, k 2358, c 554.5."""
    delta = log_decrement(1.0, 0.25, 0.5)
    zeta = ratio_from_decrement(delta)
    assert delta == pytest.approx(2.7726, abs=5e-5)
    assert zeta == pytest.approx(0.4037, abs=5e-5)
    natural = 2 * math.pi / 2.0 / math.sqrt(1 - zeta**2)
    corner = Corner("book", 200.0, 1.0, 200 * natural**2, 1e6, 1.0)
    assert corner.wheel_rate_n_m == pytest.approx(2358.2652, rel=1e-4)
    assert zeta * corner.critical_damping_n_s_m == pytest.approx(554.4981, rel=1e-4)


def test_khurmi_mass_with_damper() -> None:
    """[khurmi] Theory of Machines (read): m 8, s 5400, c 40: delta about 0.6 (0.607418 by computation)."""
    zeta = 40 / Corner("book", 8.0, 1.0, 5400.0, 1e5, 1.0).critical_damping_n_s_m
    decrement = 2 * math.pi * zeta / math.sqrt(1 - zeta**2)
    assert decrement == pytest.approx(0.6, abs=0.01)
    assert decrement == pytest.approx(0.607418, rel=1e-6)


def test_school_book_car() -> None:
    """Published school problem 14.21 (read): 3000 kg on four wheels, k 5e4 N/m each, halves in one swing: 1351.58 kg/s."""
    corner = Corner("book", 750.0, 1.0, 5e4, 1e9, 1.0)
    zeta = ratio_from_decrement(log_decrement(1.0, 0.5, 1))
    assert zeta == pytest.approx(0.109653, rel=1e-5)  # by computation, exact relation
    assert zeta * corner.critical_damping_n_s_m == pytest.approx(1351.58, rel=0.01)  # the book takes light damping


def test_machine_on_four_springs() -> None:
    """Published problem (read), answer computed: 76 kg, 4 x 7.5 N/mm, 17.2 to 3.2 mm in two swings: c 400.587 N s/m."""
    zeta = ratio_from_decrement(log_decrement(17.2, 3.2, 2))
    assert zeta == pytest.approx(0.132647, rel=1e-5)
    assert zeta * Corner("", 76.0, 1.0, 30e3, 1e9, 1.0).critical_damping_n_s_m == pytest.approx(400.587, rel=1e-5)


def test_leaf_friction_as_measured_by_a_loop() -> None:
    """The same friction swung on a made-up bench at the body's own frequency."""
    corner = replace(SALOON, motion_ratio=1.0)
    amplitude, friction = 0.02, 300.0
    peak = 2 * math.pi * corner.modes().body_frequency_hz * amplitude
    loop = sine_loop(lambda x, v: np.where(v > 0, friction, -friction), peak, half_stroke_m=amplitude)
    wanted = float(equivalent_damping(loop)[0]) / corner.critical_damping_n_s_m
    assert friction_ratio(corner, friction, amplitude) == pytest.approx(wanted, rel=1e-3)


def test_friction_counts_most_in_small_swings() -> None:
    assert friction_ratio(SALOON, 300, 0.01) == pytest.approx(4 * friction_ratio(SALOON, 300, 0.04))
