"""Leaf springs against worked examples of machine-design books and a beam worked out another way."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from scipy.integrate import quad

from dampkit.needs.springs.leaf import LeafSpring

# Half-spans and counts of a made-up spring, 6 leaves of 60 x 8 mm, arm 600 mm.
SWEEP = LeafSpring(1.2, 0.060, 0.008, 0, 6, modulus_pa=206e9)


def test_khurmi_truck_spring() -> None:
    """[khurmi] Machine Design ch. 23: 6000 N, 7 leaves of 65 mm, 2 full length, 1.1 m, 80 mm band, 350 MPa.

    Problem read; answers from memory: 8.7 say 9 mm, deflection 30 mm.
    """
    spring = LeafSpring(1.1, 0.065, 0.010, 2, 5, clamp_length_m=0.080, modulus_pa=210e9)
    assert spring.arm_m == pytest.approx(0.510)
    assert replace(spring, thickness_m=0.0087).stress_pa(6000)[0] == pytest.approx(350e6, rel=0.012)
    chosen = replace(spring, thickness_m=0.009)
    assert 1e3 * chosen.deflection_m(6000) == pytest.approx(30, abs=0.1)
    assert chosen.stress_pa(6000)[0] < 350e6


def test_bhandari_spring_with_nip() -> None:
    """[bhandari] ch. 10: 30 kN, 1.2 m, 2 + 10 leaves of 60 mm, 1500 MPa / 2.5, E 207 GPa, equal stress.

    Problem read; answers from memory: 11.18 say 12 mm, deflection 69.68 mm.
    """
    spring = LeafSpring(1.2, 0.060, 0.010, 2, 10)
    assert 1e3 * replace(spring, thickness_m=0.012).deflection_m(30e3) == pytest.approx(69.68, abs=0.01)


def test_energy_spring_of_a_published_problem() -> None:
    """Published problem (read): 1.4 m, 100 x 12 mm, 150 MPa, 125 J, E 200 GPa: 1029 N a leaf... 30.6 mm, R 8007 mm.

    The book's proof load W = 1029 n and its 8 leaves; radius from the rounded deflection.
    """
    leaf = LeafSpring(1.4, 0.100, 0.012, 0, 1, modulus_pa=200e9)
    load = 150e6 / leaf.stress_pa(1.0)[1]
    assert load == pytest.approx(1029, abs=1)
    assert 1e3 * leaf.deflection_m(load) == pytest.approx(30.6, abs=0.05)
    assert 125 / (0.5 * load * leaf.deflection_m(load)) == pytest.approx(7.937, abs=0.002)  # say 8 leaves


@pytest.mark.parametrize(("full", "rate"), [(0, 58.596), (1, 63.479), (2, 68.361), (6, 87.893)])
def test_rate_against_full_length_leaves(full: int, rate: float) -> None:
    """E b t^3 (3 n_f + 2 n_g)/(6 L^3) worked out by hand: N/mm."""
    spring = replace(SWEEP, full_length_count=full, graduated_count=6 - full)
    assert spring.rate_n_m / 1e3 == pytest.approx(rate, rel=1e-5)


def test_one_full_length_leaf_is_a_beam() -> None:
    """n = 1: F = 48 E I d / span^3, the beam on two supports of every handbook (identity)."""
    one = replace(SWEEP, full_length_count=1, graduated_count=0)
    section = one.width_m * one.thickness_m**3 / 12
    assert one.rate_n_m == pytest.approx(48 * one.modulus_pa * section / one.span_m**3)
    assert one.stress_pa(100)[0] == pytest.approx(100 * one.span_m / 4 * one.thickness_m / 2 / section)


def test_u_bolts_take_two_thirds() -> None:
    """[khurmi] ch. 23: two thirds of the bolt spacing where the bolts are not rigid."""
    assert replace(SWEEP, clamp_length_m=0.09, clamp="u-bolts").arm_m == pytest.approx(0.57)


def test_sag_is_lost_height() -> None:
    spring = replace(SWEEP, free_camber_m=0.150)
    assert spring.loaded_camber_m(3000) == pytest.approx(0.150 - 3000 / 58596, abs=1e-5)
    assert spring.sag_m(3000, 0.080) == pytest.approx(0.0188, abs=1e-4)


@pytest.mark.parametrize("tangent", [-0.4, 0.3])
def test_shackle_pull_against_the_bent_beam(tangent: float) -> None:
    """The same spring bent section by section: a triangle of leaves (I grows from the eye), pull at the eye."""
    spring = replace(SWEEP, free_camber_m=0.12, shackle_tangent_ratio=tangent)
    deflection = 0.05
    load = float(spring.load_with_shackle_n(np.array(deflection)))
    camber, arm, end = 0.12 - deflection, spring.arm_m, 0.5 * load
    stiff = 0.5 * spring.rate_n_m * arm**3 / 2  # E I at the clamp of the half spring: k = 2 E I / L^3

    def bending(s: float) -> float:
        height = camber * (1 - ((arm - s) / arm) ** 2)  # of the eye over a section of an arc
        moment = end * s + end * tangent * height
        return moment / (stiff * s / arm) * s

    assert quad(bending, 1e-9, arm)[0] == pytest.approx(deflection, rel=1e-5)


def test_shackle_rate_is_the_slope_of_the_load() -> None:
    spring = replace(SWEEP, free_camber_m=0.12, shackle_tangent_ratio=0.3)
    step = 1e-6
    low, high = spring.load_with_shackle_n(np.array([0.05 - step, 0.05 + step]))
    assert spring.rate_with_shackle_n_m(0.05) == pytest.approx((high - low) / (2 * step), rel=1e-6)


def test_upright_shackle_changes_nothing() -> None:
    assert SWEEP.rate_with_shackle_n_m(0.05) == pytest.approx(SWEEP.rate_n_m)


def test_leaf_friction_of_a_greased_and_a_dry_spring() -> None:
    """Common practice, no source: a few percent of the load when greased, about a tenth and less when dry."""
    assert 0 < replace(SWEEP, friction_ratio=0.1).friction_n(3000) < 0.03 * 3000
    assert 0.02 * 3000 < replace(SWEEP, friction_ratio=0.6).friction_n(3000) < 0.12 * 3000


def test_leaf_friction_against_slip_added_up_leaf_by_leaf() -> None:
    """Work of rubbing in a small travel d, arc of curvature 2 d/L^2: leaf i ends at L i/n and slips t x slope there."""
    spring = replace(SWEEP, friction_ratio=0.3)
    travel, arm, n = 1e-4, spring.arm_m, spring.leaf_count
    slip = [spring.thickness_m * 2 * travel / arm**2 * arm * i / n for i in range(1, n)]
    work = 2 * sum(0.3 * 1500 * s for s in slip)  # both halves, each contact carries the end load of 1500 N
    assert work / travel == pytest.approx(spring.friction_n(3000))
