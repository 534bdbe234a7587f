"""The band that a corner needs."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from dampkit.damper.take_up import TakenOut
from dampkit.needs.ratio import stage_ratios
from dampkit.needs.requirement import (
    RATED_SPEED_M_S,
    damper_target_ratio,
    hop_damping,
    needed_damping,
    needed_forces,
    spring_friction_ratio,
)
from tests.needs.made import BARTON, SALOON, sine_loop


def test_a_damper_on_the_middle_of_the_band_has_the_target_ratio() -> None:
    """The other way round: the band's slopes on the bench must measure as the target and its share."""
    need = needed_forces(SALOON)
    assert need is not None
    at = np.argmin(np.abs(need.velocity_m_s - 0.2))
    rebound, compression = (side[at] / need.velocity_m_s[at] for side in (need.rebound_n, need.compression_n))
    (ratio,) = stage_ratios(
        [sine_loop(lambda x, v: np.where(v > 0, rebound, compression) * v, 0.2)], SALOON, TakenOut()
    )
    assert ratio.damping_ratio.value == pytest.approx(0.28, rel=1e-6)
    assert rebound / (rebound + compression) == pytest.approx(0.7)


def test_tolerance_on_the_ratio_in_newtons() -> None:
    need = needed_forces(SALOON)
    assert need is not None
    rated = np.argmin(np.abs(need.velocity_m_s - RATED_SPEED_M_S))
    middle = 2 * 0.7 * 0.28 * 2 * (30e3 * 380) ** 0.5 / 0.8**2 * RATED_SPEED_M_S  # 2 zeta sqrt(k m)/R^2, by hand
    edges = (need.rebound_low_n[rated], need.rebound_n[rated], need.rebound_high_n[rated])
    assert edges == pytest.approx((0.8 * middle, middle, 1.2 * middle))


def test_slow_force_may_come_early_but_not_beyond_critical() -> None:
    need = needed_forces(SALOON)
    assert need is not None
    slow = need.velocity_m_s == pytest.approx(0.02)
    both = need.rebound_high_n[slow] + need.compression_high_n[slow]
    assert 0.5 * both / 0.02 * 0.8**2 == pytest.approx(SALOON.critical_damping_n_s_m)


def test_needed_damping_of_the_textbook_car() -> None:
    """[barton2018] car: 2 sqrt(22000 x 317.5) = 5285.8 N s/m; 0.28378 of it is 1500 N s/m (computed)."""
    assert needed_damping(BARTON, 0.28378) == pytest.approx(1500, rel=1e-4)


def test_hop_damping_inverts_the_two_mass_modes() -> None:
    """control.damp gives this car 0.16567 of critical at 1000 N s/m and 0.25011 at 1500."""
    assert hop_damping(BARTON, 0.16567) == pytest.approx(1000, rel=0.015)
    assert hop_damping(BARTON, 0.25011) == pytest.approx(1500, rel=0.015)


def test_no_target_no_band() -> None:
    assert needed_forces(replace(SALOON, target_ratio=None)) is None


def test_missing_share_is_said() -> None:
    need = needed_forces(replace(SALOON, rebound_share_ratio=None))
    assert need is not None
    assert "none was given" in need.basis


def test_spring_friction_is_taken_off_the_target() -> None:
    """A leaf spring and a damper together, swung at the rated speed, must measure as the whole target."""
    leafy = replace(SALOON, spring_friction_n=120.0)
    need, target = needed_forces(leafy), damper_target_ratio(leafy)
    assert need is not None
    assert target is not None
    c, friction = needed_damping(leafy, target), 120.0 / leafy.motion_ratio  # both as felt at the damper
    loop = sine_loop(lambda x, v: c * v + np.where(v > 0, friction, -friction), RATED_SPEED_M_S)
    (ratio,) = stage_ratios([loop], leafy, TakenOut())
    assert ratio.damping_ratio.value == pytest.approx(0.28, rel=1e-3)
    assert "hide a dead damper" in need.basis


@pytest.mark.parametrize("peak", [0.12, 0.2, 0.3])
def test_spring_friction_is_taken_off_at_every_speed_as_the_force_it_is(peak: float) -> None:
    """Leaf friction with the damper of the middle line, swung slower: together always the target ([rao] ch. 3)."""
    leafy = replace(SALOON, spring_friction_n=120.0)
    need = needed_forces(leafy)
    assert need is not None
    sides = (need.rebound_n, need.compression_n)
    mean = 0.5 * sum(float(np.interp(peak, need.velocity_m_s, side)) for side in sides) / peak  # viscous to that point
    friction = 120.0 / leafy.motion_ratio
    (ratio,) = stage_ratios([sine_loop(lambda x, v: mean * v + friction * np.sign(v), peak)], leafy, TakenOut())
    assert ratio.damping_ratio.value == pytest.approx(0.28, rel=2e-3)
    slow = float(np.interp(0.05, need.velocity_m_s, need.rebound_low_n))
    assert slow == 0.0  # friction alone stills swings as slow as this


def test_friction_beyond_the_target_leaves_nothing_for_the_damper() -> None:
    stiff = replace(SALOON, spring_friction_n=5000.0)
    assert spring_friction_ratio(stiff) > 0.28
    assert damper_target_ratio(stiff) == 0.0


@given(
    st.floats(0.05, 1.0),
    st.floats(0.2, 0.9),
    st.floats(0.3, 1.5),
    st.floats(60, 900),
    st.floats(8, 200),
    st.floats(5e3, 2e5),
    st.floats(0, 2000),
)
def test_edges_are_in_order_and_never_jump(
    ratio: float, share: float, motion: float, ms: float, mu: float, k: float, friction: float
) -> None:
    corner = replace(
        SALOON,
        target_ratio=ratio,
        rebound_share_ratio=share,
        motion_ratio=motion,
        sprung_mass_kg=ms,
        unsprung_mass_kg=mu,
        wheel_rate_n_m=k,
        spring_friction_n=friction,
    )
    need = needed_forces(corner)
    assert need is not None
    for low, middle, high in (
        (need.rebound_low_n, need.rebound_n, need.rebound_high_n),
        (need.compression_low_n, need.compression_n, need.compression_high_n),
    ):
        assert (low <= middle + 1e-9).all()
        assert (middle <= high + 1e-9).all()
        assert (np.diff(middle) >= -1e-9).all()
        assert (np.diff(low) >= -1e-9).all()
