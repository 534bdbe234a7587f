"""Valve flow against handbook numbers and its own slope."""

from __future__ import annotations

import numpy as np
import pytest

from dampkit.quantities import Array
from dampkit.virtual.flow import at_temperature, drop_for, flow, round_holes, stack
from dampkit.virtual.oil import Oil, OilColumns
from dampkit.virtual.plant import CLOSED, Groove, Opening, preloaded_check
from dampkit.virtual.shapes import SHAPES, discharge_share, shaped
from dampkit.virtual.truth import hydraulic_force
from dampkit.virtual.units import MONOTUBE, TWIN_TUBE

BLOWOFF = Opening(leak_m3_s_pa=2e-12, bleed_m2=1e-6, crack_pa=1e6, span_pa=2e6, open_m2=6e-6, knee=0.1)


def test_flow_through_a_drilled_hole() -> None:
    # Q = Cd A sqrt(2 dp/rho), Merritt ch. 3: d 1.5 mm, Cd 0.7, rho 860, 2 MPa gives 8.43628e-5 m3/s
    valve = at_temperature(stack([Opening(bleed_m2=round_holes(1.5e-3))]), OilColumns([Oil()]), np.array([20.0]))
    assert flow(np.array([2e6]), valve)[0][0] == pytest.approx(8.43628e-5, rel=1e-5)


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


def valve_of(opening: Opening, count: int, temperature_c: float = 20.0) -> Array:
    one = at_temperature(stack([opening]), OilColumns([Oil()]), np.array([temperature_c]))
    return np.broadcast_to(one, (len(one), count))


@pytest.mark.parametrize("exponent", [0.5, 1.4, 2.0])
def test_opening_area_goes_with_a_power_of_the_excess_pressure(exponent: float) -> None:
    # q = (bleed + open ((dp - crack)/span)^n) sqrt(2 dp/rho) written out, away from the rounded corners
    opening = Opening(bleed_m2=1e-6, crack_pa=1e6, span_pa=2e6, open_m2=6e-6, knee=0.02, exponent=exponent)
    drop = np.array([0.5e6, 1.5e6, 2.0e6, 2.9e6, 4e6])
    share = np.array([0.0, 0.25, 0.5, 0.95, 1.0]) ** exponent
    expected = (1e-6 + 6e-6 * share) * np.sqrt(2.0 * drop / 860.0)
    assert flow(drop, valve_of(opening, 5))[0] == pytest.approx(expected, rel=1e-6)


@pytest.mark.parametrize(
    "opening",
    [
        Opening(1e-12, 1e-6, 1e6, 2e6, 6e-6, 0.1, 0.5),
        Opening(1e-12, 1e-6, 1e6, 2e6, 6e-6, 0.4, 2.0, 150.0),
        Opening(0.0, 1e-6, half_at_reynolds=300.0),
    ],
)
def test_slope_of_a_shaped_valve_is_the_derivative(opening: Opening) -> None:
    drop = np.linspace(10.0, 4e6, 4001)
    up, down = (flow(drop + side, valve_of(opening, drop.size))[0] for side in (5.0, -5.0))
    assert flow(drop, valve_of(opening, drop.size))[1] == pytest.approx((up - down) / 10.0, rel=2e-3)


def test_discharge_falls_at_low_reynolds_number_between_two_limits() -> None:
    # C = C_t Re/(Re + Re_h), Re = d sqrt(2 dp/rho)/nu, written out; laminar limit: flow as drop over viscosity
    opening, oil = Opening(bleed_m2=1e-6, half_at_reynolds=200.0, passage_m=1e-3), Oil()
    drop = np.array([1e5, 1e6, 1e7])
    jet = np.sqrt(2.0 * drop / 860.0)
    reynolds = jet * 1e-3 / (1e-6 * float(oil.viscosity_mm2_s(20.0)))
    expected = 1e-6 * jet * reynolds / (reynolds + 200.0)
    assert flow(drop, valve_of(opening, 3))[0] == pytest.approx(expected, rel=1e-4)
    assert discharge_share(opening, oil, 1e6) == pytest.approx(reynolds[1] / (reynolds[1] + 200.0))
    tiny = np.array([1.0, 2.0])
    cold, warm = (flow(tiny, valve_of(opening, 2, celsius))[0] for celsius in (20.0, 60.0))
    assert cold[1] / cold[0] == pytest.approx(2.0, rel=1e-3)
    thinner = float(oil.dynamic_viscosity_pa_s(20.0) / oil.dynamic_viscosity_pa_s(60.0))
    assert 0.6 * thinner < warm[0] / cold[0] < thinner


def test_preloaded_check_holds_until_it_is_lifted() -> None:
    drop = np.array([1e4, 2e4, 4e4, 8e4])
    q = flow(drop, valve_of(preloaded_check(2e4), 4))[0]
    assert q[0] == 0.0
    assert q[2:] == pytest.approx(40e-6 * np.sqrt(2.0 * drop[2:] / 860.0) * [0.925, 1.0], rel=1e-3)


def test_groove_opens_over_its_range_alone() -> None:
    groove = Groove(2e-6, -0.01, 0.02, 2e-3)
    travel = np.array([-0.012, -0.01, 0.0, 0.0195, 0.0215])
    assert groove.open_m2(travel) == pytest.approx([0.0, 1e-6, 2e-6, 1.5e-6, 0.0], abs=3e-7)
    unit = shaped(TWIN_TUBE, SHAPES["bypass groove"])
    at = [float(hydraulic_force(unit, "rebound", np.array([0.1]), travel_m=x)[0]) for x in (0.0, 0.02)]
    assert at[0] < 0.8 * at[1]
    assert at[1] == pytest.approx(float(hydraulic_force(TWIN_TUBE, "rebound", np.array([0.1]))[0]))


@pytest.mark.parametrize("name", [n for n in SHAPES if n not in ("bypass groove", "soft shims", "preloaded checks")])
def test_a_shape_keeps_the_force_at_the_top_speed(name: str) -> None:
    for unit in (TWIN_TUBE, MONOTUBE):
        kept = hydraulic_force(shaped(unit, SHAPES[name]), "rebound", np.array([1.0]))
        assert kept == pytest.approx(hydraulic_force(unit, "rebound", np.array([1.0])), rel=0.01)
