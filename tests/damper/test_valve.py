"""The valve law against published relations and its own inverse."""

from __future__ import annotations

import math
from dataclasses import replace

import fluids
import numpy as np
import pytest

from dampkit.damper.valve import LIFT_AT_N, PARAMETERS, Valve

RHO = 860.0
AREA = math.pi / 4 * (0.030**2 - 0.012**2)  # bore 30, rod 12 mm


def orifice(cda_m2: float) -> Valve:
    """Bleed of an effective area behind AREA: v = C_d A sqrt(2 F / (rho A)) / A."""
    return Valve(bleed=cda_m2 * math.sqrt(2 / RHO) / AREA**1.5)


@pytest.mark.parametrize(
    ("speed", "force"), [(0.05, 9.1914), (0.1, 36.766), (0.3, 330.891), (0.6, 1323.56), (1.0, 3676.57)]
)
def test_orifice_force_at_five_speeds(speed: float, force: float) -> None:
    """F = (rho/2) A^3 v^2 / (Cd A)^2 for four 1.5 mm holes, Cd 0.7. Source: [merritt1967] ch. 3, [rabie2009] eq. 2.39."""
    holes = 4 * 0.7 * math.pi / 4 * 0.0015**2
    assert orifice(holes).force(np.array([speed]))[0] == pytest.approx(force, rel=2e-5)


def test_orifice_flow_of_one_hole() -> None:
    """d 1.5 mm, Cd 0.7, 2 MPa: Q = 8.43628e-5 m3/s. Source: [merritt1967] ch. 3; worked with the formula by hand."""
    hole = 0.7 * math.pi / 4 * 0.0015**2
    flow = orifice(hole).velocity(np.array([2e6 * AREA]))[0] * AREA
    assert flow == pytest.approx(8.43628e-5, rel=1e-5)


def test_orifice_flow_against_a_fluids_library() -> None:
    """The same law with the velocity of approach left out: a small hole in a large pipe. Library: fluids."""
    hole, pipe = 0.0015, 0.30
    mass = fluids.flow_meter.flow_meter_discharge(D=pipe, Do=hole, P1=2.1e6, P2=1e5, rho=RHO, C=0.7)
    flow = orifice(0.7 * math.pi / 4 * hole**2).velocity(np.array([2e6 * AREA]))[0] * AREA
    assert flow == pytest.approx(mass / RHO, rel=1e-6)


def test_annular_leak_is_the_linear_part() -> None:
    """Concentric gap D 30 mm, c 50 um, L 10 mm, mu 0.0129 Pa s, 2 MPa: 1.52209e-5 m3/s. Source: [rabie2009] eq. 2.19."""
    per_pascal = math.pi * 0.030 * (50e-6) ** 3 / (12 * 0.0129 * 0.010)
    leak = Valve(leak=per_pascal / AREA**2)
    assert leak.velocity(np.array([2e6 * AREA]))[0] * AREA == pytest.approx(1.52209e-5, rel=1e-5)
    assert leak.force(np.array([0.1]))[0] == pytest.approx(0.1 / leak.leak)


FULL = Valve(leak=1e-6, bleed=0.005, blowoff_force=1128.0, lift_rate=1e-5, open=0.02, knee_n=10.0, loss=25.0)


@pytest.mark.parametrize(
    "valve",
    [
        FULL,
        replace(FULL, knee_n=0.0),
        replace(FULL, open=np.inf),
        replace(FULL, exponent=0.5),
        replace(FULL, knee_n=0.0, exponent=2.0),
        Valve(leak=2e-4),
        Valve(bleed=0.01),
    ],
)
def test_force_is_the_inverse_of_velocity(valve: Valve) -> None:
    speed = np.linspace(0.0, 2.0, 2001)
    force = valve.force(speed)
    np.testing.assert_allclose(valve.velocity(force - valve.loss * speed**2), speed, rtol=1e-7, atol=1e-12)
    assert np.all(np.diff(force) > 0)


@pytest.mark.parametrize("name", PARAMETERS)
@pytest.mark.parametrize("exponent", [0.6, 1.0, 1.7])
def test_gradient_against_differences(name: str, exponent: float) -> None:
    """Independent route: central differences of the force."""
    speed = np.linspace(0.01, 1.5, 500)
    reached = FULL.lift_rate * LIFT_AT_N * (2000 / LIFT_AT_N) ** exponent
    valve = replace(FULL, exponent=exponent, open=min(FULL.open, reached))
    step = 1e-5 * getattr(valve, name)
    up, down = (replace(valve, **{name: getattr(valve, name) + s}).force(speed) for s in (step, -step))
    exact = valve.solve(speed)[2][:, PARAMETERS.index(name)]
    np.testing.assert_allclose(exact, (up - down) / (2 * step), rtol=1e-4, atol=1e-6 * np.abs(exact).max())


def test_a_lift_that_stops_where_it_begins_has_a_gradient() -> None:
    """Nothing lifts: what the exponent does to nothing is nothing."""
    valve = replace(FULL, open=1e-300, exponent=2.0)
    gradient = valve.solve(np.linspace(0.01, 1.5, 50))[2]
    assert gradient[:, PARAMETERS.index("exponent")] == pytest.approx(0.0, abs=1e-12)


def test_stiffness_against_differences() -> None:
    speed = np.linspace(0.01, 1.5, 500)
    numeric = (FULL.force(speed + 1e-6) - FULL.force(speed - 1e-6)) / 2e-6
    np.testing.assert_allclose(FULL.solve(speed)[1], numeric, rtol=1e-4)


def test_a_valve_with_no_way_through_has_no_force() -> None:
    with pytest.raises(ValueError, match="leak or a bleed"):
        Valve(blowoff_force=100.0, lift_rate=1e-4).force(np.array([0.1]))


@pytest.mark.parametrize("exponent", [0.5, 1.0, 2.0])
def test_lift_grows_with_the_power_of_the_excess(exponent: float) -> None:
    """Lift as defined, at four times the excess: 4^n times as much. Closed form."""
    valve = Valve(bleed=1e-3, blowoff_force=400.0, lift_rate=2e-5, exponent=exponent)
    near, far = np.array([500.0]), np.array([800.0])
    lifts = [(valve.velocity(f) / np.sqrt(f) - valve.bleed)[0] for f in (near, far)]
    assert lifts[1] / lifts[0] == pytest.approx(4**exponent)
    assert valve.fully_open_force_n == np.inf
    stopped = replace(valve, open=lifts[0])
    assert stopped.fully_open_force_n == pytest.approx(500.0)


@pytest.mark.parametrize("kind", [
    {}, {"blowoff_force": 300.0, "lift_rate": 2e-5, "knee_n": 20.0},
    {"blowoff_force": 300.0, "lift_rate": 2e-5, "knee_n": 20.0, "open": 0.01, "exponent": 0.6},
])  # fmt: skip
def test_valves_side_by_side_have_the_forces_of_each(kind: dict[str, float]) -> None:
    first = Valve(leak=1e-5, bleed=0.003, loss=20.0, **kind)
    others = [replace(first, leak=4e-5), replace(first, bleed=0.006), replace(first, lift_rate=2 * first.lift_rate)]
    speeds = np.array([0.0, 0.02, 0.1, 0.4, 1.1])
    every = [first, *others]
    together = first.columns(**{p: np.array([[getattr(v, p)] for v in every]) for p in ("leak", "bleed", "lift_rate")})
    for valve, forces in zip(every, together.force(speeds), strict=True):
        np.testing.assert_allclose(forces, valve.force(speeds), rtol=1e-12)
