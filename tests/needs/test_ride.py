"""The two-mass ride against closed forms, a general-purpose integrator and its own halved step."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import solve_ivp, trapezoid
from scipy.linalg import solve_continuous_lyapunov

from dampkit.damper.take_up import TakenOut
from dampkit.damper.unit import Side
from dampkit.damper.valve import Valve
from dampkit.needs.ratio import stage_ratios
from dampkit.needs.ride import swings_until_still
from dampkit.needs.road import Road, roughness_m3
from dampkit.needs.simulate import Cases, Stops, cases_of, half_step_times
from dampkit.needs.wheel_curve import WheelCurves, curves_from, measured_curves
from dampkit.quantities import Array
from tests.needs.made import SALOON, log_decrement, ratio_from_decrement, sine_loop
from tests.needs.rides import over_bump, over_kerb, ride_on_road, run_over, sizes_on_road
from tests.outcome.made import damper_fit


def viscous(c_n_s_m: float) -> WheelCurves:
    """At the damper; the wheel feels R^2 of it."""
    return curves_from(lambda v: c_n_s_m * v, SALOON.motion_ratio)


def digressive(v: Array) -> Array:
    return np.asarray(np.where(v > 0, 900.0, 400.0) * np.sign(v) * (1 - np.exp(-np.abs(v) / 0.1)) + 400 * v)


def closed_form(c_wheel: float, road: Road) -> tuple[float, float, float]:
    """Root mean squares of body acceleration, tyre force and travel: Lyapunov equation for white road speed [lyapunov]."""
    ms, mu, k, kt = SALOON.sprung_mass_kg, SALOON.unsprung_mass_kg, SALOON.wheel_rate_n_m, SALOON.tyre_rate_n_m
    c = c_wheel  # state: tyre squeeze, travel, body speed, wheel speed
    a = np.array([[0, 0, 0, 1], [0, 0, 1, -1], [0, -k / ms, -c / ms, c / ms], [-kt / mu, k / mu, c / mu, -c / mu]])
    b = np.array([[-1.0], [0.0], [0.0], [0.0]])
    white = 2 * np.pi**2 * roughness_m3(road.road_class) * 0.1**2 * road.speed_m_s
    p = solve_continuous_lyapunov(a, -white * b @ b.T)
    return float(np.sqrt(a[2] @ p @ a[2])), kt * float(np.sqrt(p[0, 0])), float(np.sqrt(p[1, 1]))


@pytest.mark.parametrize("c", [1000.0, 3000.0])
def test_linear_ride_within_one_percent_of_the_closed_form(c: float) -> None:
    road = Road("A", 20.0)
    found = sizes_on_road(cases_of(SALOON, viscous(c)), road)
    assert found == pytest.approx(closed_form(SALOON.at_wheel(c), road), rel=0.01)


def test_kerb_agrees_with_a_general_integrator() -> None:
    """A damper with a knee, friction left out, against scipy's solve_ivp at tight tolerance."""
    curves = curves_from(digressive, SALOON.motion_ratio)
    cases = cases_of(SALOON, curves)
    times = half_step_times(1.5, 0.002)
    fine = half_step_times(1.5, 0.001)
    ours = run_over(cases, 0.02 * np.sin(2 * np.pi * 1.5 * fine) * np.sin(2 * np.pi * 7 * fine), 0.001)
    theirs = reference_run(cases, times)
    assert np.abs(ours.body_m[1::2, 0] - theirs[0]).max() < 1e-3 * np.abs(theirs[0]).max()
    assert np.abs(ours.travel_m[1::2, 0] - (theirs[0] - theirs[1])).max() < 1e-3 * np.abs(theirs[0] - theirs[1]).max()


def reference_run(cases: Cases, times: Array, tight: bool = True) -> Array:
    given = (cases.sprung_mass_kg, cases.unsprung_mass_kg, cases.wheel_rate_n_m, cases.tyre_rate_n_m)
    ms, mu, k, kt = (float(values[0]) for values in given)
    rtol, atol = (1e-8, 1e-10) if tight else (1e-3, 1e-6)  # the latter are scipy's defaults

    def rate(t: float, y: Array) -> list[float]:
        road = 0.02 * np.sin(2 * np.pi * 1.5 * t) * np.sin(2 * np.pi * 7 * t)
        v = SALOON.motion_ratio * (y[2] - y[3])
        up = k * (y[1] - y[0]) - SALOON.motion_ratio * float(digressive(np.array(v)))
        return [y[2], y[3], up / ms, (kt * (road - y[1]) - up) / mu]

    solution = solve_ivp(rate, (0, times[-1]), np.zeros(4), t_eval=times[2::2], rtol=rtol, atol=atol)
    return np.asarray(solution.y)


def test_halving_the_step_quarters_the_error() -> None:
    """Symmetric splitting is of second order; a curve without kinks, as kinks hide the order."""
    curves = curves_from(lambda v: 1500 * v + 4000 * v * np.abs(v), SALOON.motion_ratio)
    cases = cases_of(SALOON, curves)

    def at_end(step: float) -> float:
        t = half_step_times(0.512, step)
        road = 0.02 * np.sin(2 * np.pi * 3 * t) ** 2
        return float(run_over(cases, road, step).travel_m[round(0.48 / step) - 1, 0])

    h4, h2, h1, half = (at_end(step) for step in (0.004, 0.002, 0.001, 0.0005))
    assert np.log2(abs(h4 - h2) / abs(h2 - h1)) == pytest.approx(2, abs=0.3)
    assert np.log2(abs(h2 - h1) / abs(h1 - half)) == pytest.approx(2, abs=0.3)


def test_a_straight_damper_is_exact_at_any_step() -> None:
    """The matrix exponential leaves nothing to a linear damper but the shape of the road between half steps."""
    cases = cases_of(SALOON, viscous(2000.0))
    coarse, fine = (run_over(cases, 0.01 * half_step_times(1.0, step) ** 2, step) for step in (0.02, 0.001))
    assert coarse.travel_m[-1, 0] == pytest.approx(fine.travel_m[-1, 0], rel=1e-9)


def test_body_swings_die_out_at_the_rate_of_the_body_mode() -> None:
    """Log decrement of the simulated body after a kerb against the eigenvalue [barton2018]."""
    curves = viscous(600.0)
    t = half_step_times(4.0, 0.002)
    body = run_over(cases_of(SALOON, curves), np.where(t > 0, 0.01, 0.0), 0.002).body_m[:, 0] - 0.01
    tops = np.flatnonzero((body[1:-1] > body[:-2]) & (body[1:-1] > body[2:])) + 1
    zeta = ratio_from_decrement(log_decrement(body[tops[1]], body[tops[2]], 1))
    assert zeta == pytest.approx(SALOON.modes(SALOON.at_wheel(600.0)).body_ratio, rel=0.01)


@pytest.mark.parametrize("zeta", [0.05, 0.1, 0.3, 0.6])
def test_swings_until_still_of_a_known_decay(zeta: float) -> None:
    """Turning points of exp(-zeta w t) cos: half-swing n is exp(-pi n zeta / sqrt(1 - zeta^2)) of the first."""
    t = np.linspace(0, 20, 20001)
    damped = np.sqrt(1 - zeta**2)
    decay = np.exp(-zeta * 2 * np.pi * t) * (
        np.cos(2 * np.pi * damped * t) + zeta / damped * np.sin(2 * np.pi * damped * t)
    )
    wanted = 0.5 * np.floor(np.log(1 / 0.05) / (np.pi * zeta / damped))
    assert swings_until_still(0.02 - 0.02 * decay[:, None], 0.02)[0] == wanted


def test_a_hard_kerb_lifts_the_wheel_but_never_pulls_on_the_road() -> None:
    event = over_kerb(cases_of(SALOON, viscous(2000.0)), height_m=0.15, speed_m_s=10.0)
    assert event.least_load_ratio[0] == pytest.approx(0.0, abs=1e-12)
    assert event.compression_used_m[0] > event.extension_used_m[0] > 0


def test_more_damping_is_still_sooner() -> None:
    curves = viscous(2000.0).scaled(np.array([0.2, 1.0]))
    soft, firm = over_bump(cases_of(SALOON, curves)).swings_until_still_count
    assert soft > firm


def test_cases_side_by_side_are_the_cases_alone() -> None:
    curves = viscous(2000.0).scaled(np.array([0.5, 1.0, 2.0]))
    rates = np.array([20e3, 30e3, 40e3])
    together = over_bump(cases_of(SALOON, curves, rates)).peak_acceleration_m_s2
    for i, rate in enumerate(rates):
        one = cases_of(replace(SALOON, wheel_rate_n_m=rate), WheelCurves(curves.force_n[i : i + 1]))
        assert over_bump(one).peak_acceleration_m_s2[0] == pytest.approx(together[i], rel=1e-6)


def test_measured_unit_at_the_wheel() -> None:
    """Made-up unit: 2000 and 1000 N s/m behind 20 N of friction, R 0.8: F_wheel = R F(R v), by hand."""
    curves = measured_curves(damper_fit(), 0.8)
    assert curves is not None
    for speed, wanted in (
        (0.5, 0.8 * (2000 * 0.4 + 20)),
        (-0.5, -0.8 * (1000 * 0.4 + 20)),
        (3.0, 0.8 * (2000 * 2.4 + 20)),
    ):
        assert curves.over(np.array([[speed]]))[0, 0] == pytest.approx(wanted, rel=1e-9)


def test_a_unit_with_one_direction_missing_cannot_be_run() -> None:
    assert measured_curves(replace(damper_fit(), compression=Side("compression")), 0.8) is None


def test_steep_friction_stays_stable() -> None:
    sticky = curves_from(lambda v: 2000 * v + 1500 * np.sign(v), 1.0)
    event = over_bump(cases_of(SALOON, sticky))
    assert event.peak_acceleration_m_s2[0] < 50
    assert event.least_load_ratio[0] >= 0


@pytest.mark.parametrize(("rate_n_m", "most_m"), [(3e5, 0.08), (3e6, 0.035), (2e7, 0.025)])
def test_a_hard_stop_is_met_and_stays_stable(rate_n_m: float, most_m: float) -> None:
    """Travel stays below the kerb's height and, on a hard stop, close to its clearance (limit: a rigid stop)."""
    cases = cases_of(SALOON, viscous(2000.0), stops=Stops(0.02, rate_n_m, 0.03, rate_n_m))
    kerb, road = over_kerb(cases, 0.08), ride_on_road(cases, Road("D", 20.0))
    assert 0.02 <= kerb.compression_used_m[0] < most_m
    assert 0.02 <= road.compression_used_m[0] < most_m
    assert np.isfinite(road.weighted_acceleration_m_s2).all()


@pytest.mark.parametrize("kmh", [20, 130])
def test_slow_and_fast_roads_against_the_response_integrated_over_the_class(kmh: float) -> None:
    """Frequency response by solving the state equations, integrated by scipy over 0.01 to 10 cycle/m [iso8608]."""
    road, c = Road("A", kmh / 3.6), SALOON.at_wheel(1500.0)
    frequency = np.geomspace(0.01 * road.speed_m_s, 10 * road.speed_m_s, 4000)
    a, push = SALOON.state_matrix(c), np.array([0, 0, 0, SALOON.tyre_rate_n_m / SALOON.unsprung_mass_kg])
    s = 2j * np.pi * frequency[:, None, None] * np.eye(4)
    state = np.linalg.solve(s - a, np.broadcast_to(push[:, None], (frequency.size, 4, 1)))[..., 0]
    density = 16e-6 * (frequency / road.speed_m_s / 0.1) ** -2 / road.speed_m_s
    tyre, travel = SALOON.tyre_rate_n_m * (1 - state[:, 1]), state[:, 0] - state[:, 1]
    wanted = [np.sqrt(trapezoid(np.abs(x) ** 2 * density, frequency)) for x in (tyre, travel)]
    assert sizes_on_road(cases_of(SALOON, viscous(1500.0)), road)[1:] == pytest.approx(wanted, rel=0.01)


@given(st.floats(5e3, 1e5), st.floats(1.05, 3.0))
def test_a_softer_spring_rides_slower(rate: float, stiffer: float) -> None:
    soft, stiff = (replace(SALOON, wheel_rate_n_m=k).modes() for k in (rate, stiffer * rate))
    assert soft.body_frequency_hz < stiff.body_frequency_hz


@given(st.floats(0.2, 3.0), st.floats(0.3, 0.95), st.floats(0.05, 1.0))
def test_a_narrower_passage_damps_the_car_more(area_mm2: float, narrower: float, speed: float) -> None:
    """Both directions through one hole, Q = Cd A sqrt(2 p/rho) ([merritt1967] ch. 3), piston area 594 mm2."""

    def ratio(mm2: float) -> float:
        per_root_n = 0.65 * 1e-6 * mm2 * (2 / 860) ** 0.5 / 594e-6**1.5
        valve = Valve(bleed=per_root_n)
        loop = sine_loop(lambda x, v: np.sign(v) * valve.force(np.abs(v)), speed)
        return stage_ratios([loop], SALOON, TakenOut())[0].damping_ratio.value

    assert ratio(narrower * area_mm2) > ratio(area_mm2)
