"""Valve flow against handbook numbers and its own slope."""

from __future__ import annotations

import numpy as np
import pytest

from dampkit.virtual.flow import at_temperature, clearance_leak, drop_for, flow, round_holes, stack
from dampkit.virtual.oil import Oil, OilColumns
from dampkit.virtual.plant import CLOSED, Opening

BLOWOFF = Opening(leak_m3_s_pa=2e-12, bleed_m2=1e-6, crack_pa=1e6, span_pa=2e6, open_m2=6e-6, knee=0.1)


def test_flow_through_a_drilled_hole() -> None:
    # Q = Cd A sqrt(2 dp/rho), Merritt ch. 3: d 1.5 mm, Cd 0.7, rho 860, 2 MPa gives 8.43628e-5 m3/s
    valve = at_temperature(stack([Opening(bleed_m2=round_holes(1.5e-3))]), OilColumns([Oil()]), np.array([20.0]))
    assert flow(np.array([2e6]), valve)[0][0] == pytest.approx(8.43628e-5, rel=1e-5)


@pytest.mark.parametrize(("eccentricity", "expected"), [(0.0, 1.52209e-5), (1.0, 3.80522e-5)])
def test_leak_past_a_piston(eccentricity: float, expected: float) -> None:
    # Rabie eq. 2.19: D 30 mm, c 50 um, L 10 mm, 0.0129 Pa s, 2 MPa; 2.5 times as much when touching
    leak = clearance_leak(0.030, 50e-6, 0.010, 0.0129, eccentricity)
    assert leak * 2e6 == pytest.approx(expected, rel=1e-5)


def test_leak_goes_with_one_over_viscosity_and_orifice_with_root_of_density() -> None:
    oil, drop = Oil(), np.array([1e6, 1e6])
    both = stack([Opening(leak_m3_s_pa=1e-11), Opening(bleed_m2=1e-6)])
    cold = flow(drop, at_temperature(both, OilColumns([oil, oil]), np.array([20.0, 20.0])))[0]
    hot = flow(drop, at_temperature(both, OilColumns([oil, oil]), np.array([80.0, 80.0])))[0]
    viscosity = oil.dynamic_viscosity_pa_s(np.array([20.0, 80.0]))
    assert hot[0] / cold[0] == pytest.approx(viscosity[0] / viscosity[1], rel=1e-12)
    assert hot[1] / cold[1] == pytest.approx(np.sqrt(1.0 + 60.0 * oil.expansion_per_k), rel=1e-12)


def test_slope_is_the_derivative_across_both_corners() -> None:
    drop = np.linspace(10.0, 4e6, 4001)
    valve = np.broadcast_to(at_temperature(stack([BLOWOFF]), OilColumns([Oil()]), np.array([20.0])), (6, drop.size))
    up, down = flow(drop + 5.0, valve)[0], flow(drop - 5.0, valve)[0]
    assert flow(drop, valve)[1] == pytest.approx((up - down) / 10.0, rel=2e-4)


def test_lift_is_none_below_the_crack_and_whole_above_the_span() -> None:
    drop = np.array([0.79e6, 3.21e6])
    valve = np.broadcast_to(at_temperature(stack([BLOWOFF]), OilColumns([Oil()]), np.array([20.0])), (6, 2))
    speed = np.sqrt(2.0 * drop / 860.0)  # Merritt ch. 3, areas by hand
    expected = 2e-12 * drop + np.array([1e-6, 7e-6]) * speed
    assert flow(drop, valve)[0] == pytest.approx(expected, rel=1e-6)


def test_drop_for_a_flow_is_the_inverse_and_a_closed_path_has_none() -> None:
    drop = np.array([0.0, 3e3, 2e5, 1.5e6, 5e6])
    valve = np.broadcast_to(at_temperature(stack([BLOWOFF]), OilColumns([Oil()]), np.array([45.0])), (6, drop.size))
    assert drop_for(flow(drop, valve)[0], BLOWOFF, Oil(), 45.0) == pytest.approx(drop, rel=1e-9)
    assert drop_for(np.array([0.0, 1e-6]), CLOSED, Oil()).tolist() == [0.0, np.inf]
