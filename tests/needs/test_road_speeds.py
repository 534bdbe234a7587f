"""Damper speeds and tyre load on a road, in closed form by another route."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.linalg import solve_continuous_lyapunov

from dampkit.needs.road import Road, roughness_m3
from dampkit.needs.road_speeds import responses, road_speeds
from tests.needs.made import SALOON


def test_speeds_and_tyre_load_against_the_lyapunov_equation() -> None:
    """White speed of the road through the two masses; slow motion left out by the class is below 1 %. [lyapunov]"""
    road = Road("B", 25.0)
    ms, mu, k, kt = SALOON.sprung_mass_kg, SALOON.unsprung_mass_kg, SALOON.wheel_rate_n_m, SALOON.tyre_rate_n_m
    c = 0.28 * SALOON.critical_damping_n_s_m  # state: tyre squeeze, travel, body speed, wheel speed
    a = np.array([[0, 0, 0, 1], [0, 0, 1, -1], [0, -k / ms, -c / ms, c / ms], [-kt / mu, k / mu, c / mu, -c / mu]])
    b = np.array([[-1.0], [0.0], [0.0], [0.0]])
    white = 2 * np.pi**2 * roughness_m3(road.road_class) * 0.1**2 * road.speed_m_s
    p = solve_continuous_lyapunov(a, -white * b @ b.T)
    apart = np.array([0, 0, 1.0, -1.0])
    found = road_speeds(SALOON, road)
    assert found is not None
    whole = SALOON.motion_ratio * np.sqrt(apart @ p @ apart)
    assert np.hypot(found.body_m_s, found.wheel_m_s) == pytest.approx(whole, rel=0.01)
    tyre = kt * np.sqrt(p[0, 0]) / SALOON.static_tyre_load_n
    assert found.tyre_load_variation_ratio == pytest.approx(tyre, rel=0.01)


def test_responses_against_a_control_library() -> None:
    import control

    c = 1500.0
    a = SALOON.state_matrix(c)
    b = np.array([[0], [0], [0], [SALOON.tyre_rate_n_m / SALOON.unsprung_mass_kg]])
    out = np.array([[0, 0, 1, -1], [0, -SALOON.tyre_rate_n_m, 0, 0]])
    f = np.array([0.5, 1.4, 5.0, 11.0, 30.0])
    theirs = control.ss(a, b, out, np.array([[0], [SALOON.tyre_rate_n_m]]))(2j * np.pi * f)
    speed, tyre = responses(SALOON, c, f)
    assert speed == pytest.approx(theirs[0, 0])
    assert tyre == pytest.approx(theirs[1, 0])


def test_no_target_no_speeds() -> None:
    assert road_speeds(replace(SALOON, target_ratio=None), Road()) is None


@given(st.floats(20, 80), st.floats(1.05, 2.0))
def test_a_lighter_axle_unloads_the_tyre_less(unsprung: float, heavier: float) -> None:
    """Same whole load on the tyre, more of it unsprung: the tyre's load varies more ([gillespie1992] ch. 5)."""
    light = replace(SALOON, unsprung_mass_kg=unsprung)
    heavy = replace(SALOON, unsprung_mass_kg=heavier * unsprung, sprung_mass_kg=380 - (heavier - 1) * unsprung)
    variations = [found.tyre_load_variation_ratio for c in (light, heavy) if (found := road_speeds(c, Road()))]
    assert variations[0] < variations[1]


@given(st.sampled_from("ABCD"), st.floats(6, 30))
def test_speeds_grow_with_the_root_of_roughness_and_never_fall_with_speed(road_class: str, speed: float) -> None:
    slow, rough, fast = (
        road_speeds(SALOON, road)
        for road in (Road(road_class, speed), Road(chr(ord(road_class) + 1), speed), Road(road_class, 1.3 * speed))
    )
    assert slow is not None
    assert rough is not None
    assert fast is not None
    assert rough.body_m_s == pytest.approx(2 * slow.body_m_s)  # four times the density
    assert fast.wheel_m_s > slow.wheel_m_s
