"""Motion ratios against geometry done another way."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import brentq

from dampkit.needs.linkage import LeverLinkage, leaning_ratio


def lever(
    arm_angle: float = 0.0, lean: float = 0.0, arm: float = 0.13, link: float = 0.16, pickup: float = 1.0
) -> LeverLinkage:
    return LeverLinkage(arm, math.radians(arm_angle), link, math.radians(lean), pickup, arm)


def test_a_damper_at_45_degrees_keeps_half_of_its_damping() -> None:
    """Common practice, no source: damping at the wheel goes with cos squared, 45 degrees halves it."""
    assert leaning_ratio(1.0, math.radians(45)) ** 2 == pytest.approx(0.5)


def test_level_arm_on_an_upright_link_follows_the_wheel() -> None:
    """Limit: where arm and link stand square, the eye goes with the link's lower end."""
    assert lever().ratio == pytest.approx(1.0)
    assert lever(pickup=0.7).ratio == pytest.approx(0.7)


@given(
    st.floats(-20, 20), st.floats(-20, 20), st.floats(-0.025, 0.025)
)  # beyond, the link can be pulled past its reach
def test_ratio_against_small_steps_of_the_solved_linkage(arm_angle: float, lean: float, travel: float) -> None:
    """The arm's angle found by scipy's root finder from the length of the link alone, then a difference quotient."""
    linkage = lever(arm_angle, lean, pickup=0.9)
    away = linkage.arm_m * math.cos(linkage.arm_angle_rad) + linkage.link_m * math.sin(linkage.link_lean_rad)
    up = linkage.arm_m * math.sin(linkage.arm_angle_rad) - linkage.link_m * math.cos(linkage.link_lean_rad)

    def angle(z: float) -> float:
        def misfit(a: float) -> float:
            gap = math.hypot(linkage.arm_m * math.cos(a) - away, linkage.arm_m * math.sin(a) - up - 0.9 * z)
            return gap - linkage.link_m

        near = linkage.arm_angle_rad + 0.9 * z / linkage.arm_m
        return float(brentq(misfit, near - 0.4, near + 0.4, xtol=1e-13))

    step = 1e-5
    wanted = linkage.bench_arm_m * (angle(travel + step) - angle(travel - step)) / (2 * step)
    assert linkage.ratios(np.array([travel]))[0] == pytest.approx(wanted, rel=1e-4)


def test_bench_arm_twice_as_long_moves_twice_as_far() -> None:
    twice = LeverLinkage(0.13, 0.1, 0.16, 0.1, 1.0, 0.26)
    assert twice.ratio == pytest.approx(2 * LeverLinkage(0.13, 0.1, 0.16, 0.1, 1.0, 0.13).ratio)


def test_a_link_pulled_beyond_its_reach_has_no_ratio() -> None:
    assert np.isnan(lever().ratios(np.array([0.5]))[0])
