"""The plant in time: conservation, closed forms, step halving, and an independent solver."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from dampkit.quantities import Array
from dampkit.virtual.faulted import faulted
from dampkit.virtual.flow import round_holes
from dampkit.virtual.integrate import Trace, simulate
from dampkit.virtual.oil import ATMOSPHERE_PA, Oil
from dampkit.virtual.plant import CHECK, Friction, Opening, Plant
from dampkit.virtual.programme import Drive, Programme
from dampkit.virtual.rig import motion_of
from dampkit.virtual.shapes import SHAPES, shaped
from dampkit.virtual.truth import hydraulic_force
from dampkit.virtual.units import FRICTION_DISC, LEVER_ARM, MONOTUBE, MONOTUBE_SMALL, TWIN_TUBE, TWIN_TUBE_LARGE

SHORT = Programme((Drive.at_speed(0.1, 2.0), Drive.at_speed(1.0, 4.0)), dwell_s=0.1)
PLANTS = (
    TWIN_TUBE,
    TWIN_TUBE_LARGE,
    MONOTUBE,
    LEVER_ARM,
    FRICTION_DISC,
    faulted(TWIN_TUBE, "low_oil", 5.0),
    faulted(TWIN_TUBE_LARGE, "trapped_air", 5.0),
    faulted(MONOTUBE, "low_gas_pressure", 5.0),
    faulted(LEVER_ARM, "starved_refill", 3.0),
    faulted(TWIN_TUBE_LARGE, "aerated_oil", 3.0),
    faulted(MONOTUBE, "loose_mount", 5.0),
    shaped(TWIN_TUBE, SHAPES["bypass groove"]),
    shaped(MONOTUBE, SHAPES["bypass groove"]),
    shaped(TWIN_TUBE, SHAPES["preloaded checks"]),
    shaped(LEVER_ARM, SHAPES["narrow passages"]),
    shaped(MONOTUBE_SMALL, SHAPES["preloaded shims"]),
    replace(faulted(shaped(TWIN_TUBE, SHAPES["progressive shims"]), "low_oil", 4.0), pocket_carry=5.0),
    replace(faulted(LEVER_ARM, "low_oil", 3.0), pocket_carry=2.0),
)
FOUR_HOLES = Plant(
    "four drilled holes",
    "monotube",
    0.030,
    0.012,
    rebound=Opening(bleed_m2=round_holes(1.5e-3, 4)),
    compression=replace(CHECK, bleed_m2=round_holes(1.5e-3, 4)),
    chamber_m3=(80e-6, 80e-6),
    gas_pressure_pa=1e6,
    oil=Oil(free_gas_ratio=1e-6, bulk_modulus_pa=3e10),
    friction=Friction(sliding_n=0.0),
    series_stiffness_n_m=1e7,
    heat_capacity_j_k=1e9,
    start_c=20.0,
)


@pytest.fixture(scope="module")
def trace() -> Trace:
    return simulate(PLANTS, motion_of(SHORT))


def at_mid_stroke(plant: Plant, speed_m_s: float) -> tuple[float, float]:
    """Force at mid-stroke of the second cycle, out and in, with gas taken out."""
    programme = Programme((Drive.at_speed(speed_m_s, 3.0),), dwell_s=0.1)
    motion = motion_of(programme, 800)
    force = simulate([plant], motion).force_n[:, 0] - plant.gas_force_n
    start = programme.starts_s[0] + 0.025 / programme.drives[0].frequency_hz
    times = start + np.array([1.0, 1.5]) / programme.drives[0].frequency_hz
    out, back = np.interp(times, motion.time_s, force)
    return float(out), float(back)


def test_oil_and_gas_are_kept(trace: Trace) -> None:
    oil, gas = trace.oil_m3.sum(axis=1), trace.gas_m3.sum(axis=1)
    assert np.abs(oil / oil[0] - 1.0).max() < 1e-10
    assert np.abs(gas / gas[0] - 1.0).max() < 1e-10


def test_no_pressure_falls_below_nothing(trace: Trace) -> None:
    assert trace.pressure_pa.min() > 0.0
    assert trace.pressure_pa[:, 0, 7].min() < 2e4  # the monotube with a weak charge does cavitate


def test_no_chamber_is_left_with_less_than_no_gas_or_oil(trace: Trace) -> None:
    assert trace.gas_m3.min() > -1e-12
    assert trace.oil_m3.min() > -1e-12


def test_gas_drawn_in_goes_over_to_the_other_side_by_the_share_carried() -> None:
    low = faulted(TWIN_TUBE, "low_oil", 4.0)
    steady = Programme((Drive.at_speed(0.1, 4.0),), dwell_s=0.1)
    run = simulate([replace(low, pocket_carry=c) for c in (0.0, 0.05, 0.5, 5.0)], motion_of(steady))
    above = run.gas_m3[:, 0].max(axis=0)
    assert above[0] == 0.0
    assert np.all(np.diff(above) > 0.0)
    assert above[3] < run.gas_m3[:, 1, 3].max()


CARRIED = (0.05, 0.5, 5.0)
EMPTIED = tuple(
    replace(faulted(unit, "low_oil", 5.0), pocket_carry=carried)
    for unit in (
        TWIN_TUBE,
        shaped(TWIN_TUBE_LARGE, SHAPES["preloaded checks"]),
        shaped(TWIN_TUBE_LARGE, SHAPES["bypass groove"]),
        LEVER_ARM,
    )
    for carried in CARRIED
)


@pytest.fixture(scope="module")
def emptied() -> Trace:
    return simulate((TWIN_TUBE, *EMPTIED), motion_of(SHORT))


def test_oil_and_gas_are_kept_whatever_share_leaves_again(emptied: Trace) -> None:
    oil, gas = emptied.oil_m3.sum(axis=1), emptied.gas_m3.sum(axis=1)
    assert np.abs(oil / oil[0] - 1.0).max() < 1e-10
    assert np.abs(gas / gas[0] - 1.0).max() < 1e-10
    assert (emptied.gas_m3[:, :2].sum(axis=1).max(axis=0)[1:] > 1e-6).all()  # some was drawn in


def test_energy_is_kept_whatever_share_leaves_again(emptied: Trace) -> None:
    """What a sound unit leaves open is the steps'; gas drawn in, carried over and risen leaves no more open."""
    displacement = motion_of(SHORT).displacement_m
    work = np.trapezoid(emptied.force_n, displacement, axis=0)
    open_share = np.asarray(work / np.trapezoid(emptied.heat_w, emptied.time_s, axis=0) - 1.0)
    assert abs(open_share[0]) < 2e-3
    assert np.abs(open_share[1:] - open_share[0]).max() < 3e-4


def test_gas_at_the_end_of_the_stroke_is_the_rod_that_came_out_of_a_bare_valve(emptied: Trace) -> None:
    """10 mm of the stroke are beyond the place where the valve is bare: 10 mm of rod, whatever is carried. By hand."""
    plants, turn = EMPTIED[:9], int(np.argmax(motion_of(SHORT).displacement_m > 0.025 - 1e-6))
    squeezed = [(ATMOSPHERE_PA / p.gas_pressure_pa) ** (1.0 / p.oil.gas_exponent) for p in plants]
    gas = np.array(squeezed) * emptied.gas_m3[turn, :2, 1:10].sum(axis=0)
    share = gas / np.array([0.010 * 0.25 * np.pi * p.rod_diameter_m**2 for p in plants])
    pushed = np.arange(9) // 3 == 1  # checks that have to be pushed open first let less in
    assert share[~pushed] == pytest.approx(1.0, rel=0.08)
    assert ((share[pushed] > 0.8) & (share[pushed] < 1.0)).all()


def test_groove_lowers_force_where_it_is_and_nowhere_else() -> None:
    programme = Programme((Drive(0.05, 1.0, 3.0, corner_s=0.05),), dwell_s=0.1)  # constant speed between the corners
    grooved, motion = shaped(MONOTUBE, SHAPES["bypass groove"]), motion_of(programme, 800)
    run = simulate([grooved, MONOTUBE], motion)
    turns = motion.time_s - programme.starts_s[0] - 0.025
    stroke = (turns > 1.76) & (turns < 2.24)  # the second one outward
    less = run.force_n[stroke, 1] - run.force_n[stroke, 0]
    found = np.interp([0.0, 0.018], run.travel_m[stroke, 0], less)
    speed = np.array([programme.drives[0].peak_velocity_m_s])
    whole, at_groove, beyond = (
        float(hydraulic_force(unit, "rebound", speed, MONOTUBE.start_c, travel_m=x)[0])
        for unit, x in ((MONOTUBE, 0.0), (grooved, 0.0), (grooved, 0.018))
    )
    assert whole - at_groove > 100.0
    assert found[0] == pytest.approx(whole - at_groove, rel=0.02)
    assert found[1] == pytest.approx(whole - beyond, abs=0.01 * whole)


def test_work_put_in_becomes_heat(trace: Trace) -> None:
    # from rest at mid-stroke back to rest at mid-stroke: what is stored comes out again
    displacement = motion_of(SHORT).displacement_m
    work = np.trapezoid(trace.force_n, displacement, axis=0)
    heat = np.trapezoid(trace.heat_w, trace.time_s, axis=0)
    assert work == pytest.approx(heat, rel=5e-3)


def test_heat_warms_the_unit() -> None:
    insulated = replace(TWIN_TUBE, cooling_w_k=0.0, heat_capacity_j_k=500.0)
    run = simulate([insulated], motion_of(SHORT))
    heat = np.trapezoid(run.heat_w[:, 0], run.time_s)
    assert 500.0 * (run.temperature_c[-1, 0] - insulated.start_c) == pytest.approx(heat, rel=5e-3)


@pytest.mark.parametrize(
    ("speed_m_s", "force_n"), [(0.05, 9.1914), (0.1, 36.766), (0.3, 330.891), (0.6, 1323.56), (1.0, 3676.57)]
)
def test_drilled_holes_give_the_orifice_formula(speed_m_s: float, force_n: float) -> None:
    # F = (rho/2) A^3 v^2 / (Cd A0)^2, Merritt ch. 3: 4 holes of 1.5 mm, Cd 0.7, bore 30, rod 12, rho 860
    assert at_mid_stroke(FOUR_HOLES, speed_m_s)[0] == pytest.approx(force_n, rel=3e-3, abs=0.05)


@pytest.mark.parametrize("plant", [TWIN_TUBE, MONOTUBE, LEVER_ARM], ids=lambda p: p.kind)
def test_force_at_mid_stroke_is_the_steady_curve(plant: Plant) -> None:
    out, back = at_mid_stroke(plant, 0.2)
    friction, speed = plant.friction.sliding_n, np.array([0.2])
    assert out - friction == pytest.approx(hydraulic_force(plant, "rebound", speed, plant.start_c)[0], rel=0.01)
    assert -back - friction == pytest.approx(hydraulic_force(plant, "compression", speed, plant.start_c)[0], rel=0.01)


@pytest.mark.parametrize(
    ("rod_m", "gauge_pa", "force_n"), [(0.011, 2.5e6, 237.583), (0.0125, 2.5e6, 306.796), (0.012, 5e5, 56.549)]
)
def test_gas_pushes_the_rod_out(rod_m: float, gauge_pa: float, force_n: float) -> None:
    # p pi d^2/4, worked out apart from this code
    plant = replace(MONOTUBE, rod_diameter_m=rod_m, gas_pressure_pa=ATMOSPHERE_PA + gauge_pa)
    assert plant.gas_force_n == pytest.approx(-force_n, abs=1e-3)
    still = replace(plant, friction=Friction(sliding_n=0.0))
    assert simulate([still], motion_of(SHORT)).force_n[0, 0] == pytest.approx(-force_n, abs=1e-3)


def test_gas_force_rises_along_the_stroke_by_the_polytropic_law() -> None:
    # p V^n = constant with V falling by rod area times travel; slow, so only gas is felt
    slow = Programme((Drive.at_speed(0.002, 1.0),), dwell_s=0.1)
    plant = replace(FOUR_HOLES, gas_m3=40e-6)
    motion = motion_of(slow)
    force = simulate([plant], motion).force_n[:, 0]
    rod = 0.25 * np.pi * 0.012**2
    pressure = 1e6 * (40e-6 / (40e-6 + rod * motion.displacement_m)) ** 1.4
    assert force == pytest.approx(-(pressure - ATMOSPHERE_PA) * rod, abs=0.15)


@pytest.mark.slow
def test_halving_the_step_quarters_the_error() -> None:
    time_s = np.linspace(0.0, SHORT.duration_s, 3001)

    def force(per_cycle: int) -> Array:
        motion = motion_of(SHORT, per_cycle)
        return np.interp(time_s, motion.time_s, simulate([TWIN_TUBE], motion).force_n[:, 0])

    fine = force(1280)
    coarse, half = (float(np.sqrt(np.mean((force(n) - fine) ** 2))) for n in (120, 240))
    assert half < 2.0  # newtons, of a run that reaches 1500 N; nearly all of it in the jerk at start and stop
    assert half < 0.45 * coarse


def test_agrees_with_an_independent_stiff_solver() -> None:
    plant = replace(MONOTUBE, series_stiffness_n_m=1e10, heat_capacity_j_k=1e9, start_c=20.0, cooling_w_k=0.0)
    programme = Programme((Drive.at_speed(0.3, 1.0),), dwell_s=0.05)
    motion = motion_of(programme, 1600)
    ours = simulate([plant], motion)
    pressure = _pressures_by_solve_ivp(plant, programme, motion.time_s)
    assert ours.pressure_pa[:, 0, 0] == pytest.approx(pressure[0], rel=5e-3, abs=1e4)
    assert ours.pressure_pa[:, 1, 0] == pytest.approx(pressure[1], rel=5e-3, abs=1e4)


def _pressures_by_solve_ivp(plant: Plant, programme: Programme, time_s: Array) -> Array:
    """Both chamber pressures of a monotube from the equations written as rates, valve law written out again here."""
    ring, bore = plant.areas_m2
    modulus, bubbles, n, rho = plant.oil.bulk_modulus_pa, plant.oil.free_gas_ratio, 1.4, 860.0
    charge = plant.gas_m3 * (plant.gas_pressure_pa / ATMOSPHERE_PA) ** (1.0 / n)

    def valve(drop: float) -> float:
        o = plant.rebound if drop > 0 else plant.compression
        size = abs(drop)
        z = (size - o.crack_pa) / o.span_pa
        lift = 0.0 if z < -o.knee else (z + o.knee) ** 2 / (4 * o.knee) if z < o.knee else z
        jet = size / (size**2 + 400.0**2) ** 0.25
        return float(np.sign(drop) * (o.leak_m3_s_pa * size + (o.bleed_m2 + o.open_m2 * lift) * np.sqrt(2 / rho) * jet))

    def rates(t: float, y: Array) -> Array:
        p, oil = y[:2], y[2:]
        near = programme.displacement(np.array([t - 1e-5, t + 1e-5]))
        speed = (near[1] - near[0]) / 2e-5
        ratio = (ATMOSPHERE_PA / p) ** (1 / n)
        specific = 1 - (p - ATMOSPHERE_PA) / modulus + bubbles * ratio
        gas = np.array([0.0, charge])
        give = oil / modulus + (oil * bubbles + gas) * ratio / (n * p)
        q = valve(p[0] - p[1])
        inflow, widening = np.array([-q, q]), np.array([-ring, bore]) * speed
        return np.concatenate([(inflow * specific - widening) / give, inflow])

    start = np.full(2, plant.gas_pressure_pa)
    ratio = (ATMOSPHERE_PA / start) ** (1 / n)
    oil = np.array(plant.chamber_m3) / (1 - (start - ATMOSPHERE_PA) / modulus + bubbles * ratio)
    solution = solve_ivp(
        rates,
        (0.0, float(time_s[-1])),
        np.concatenate([start, oil]),
        method="LSODA",
        t_eval=time_s,
        rtol=1e-7,
        atol=np.array([1.0, 1.0, 1e-14, 1e-14]),
        max_step=1e-3,
    )
    assert solution.success
    return np.asarray(solution.y[:2])
