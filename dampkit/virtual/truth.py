"""What is true of a made-up damper, worked out from its sizes alone: the answers that an analysis should find."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from dampkit.frozen import frozen
from dampkit.quantities import Array, Direction
from dampkit.virtual.flow import drop_for, with_leak
from dampkit.virtual.plant import Opening, Plant


@frozen
class Truth:
    """Steady facts of a plant. Magnitudes for each direction as (rebound, compression); gas force is negative."""

    bleed_area_mm2: tuple[float, float]
    blowoff_force_n: tuple[float, float]
    friction_n: float
    gas_force_n: float
    series_stiffness_n_m: float
    play_mm: float


def truth(plant: Plant) -> Truth:
    """The facts of a plant; bleed areas hold the discharge coefficient, blow-off is crack pressure times area."""
    pair = (plant.rebound, plant.compression)
    first, second = plant.valve_areas_m2
    return Truth(
        bleed_area_mm2=(1e6 * pair[0].bleed_m2, 1e6 * pair[1].bleed_m2),
        blowoff_force_n=(pair[0].crack_pa * first, pair[1].crack_pa * second),
        friction_n=plant.friction.sliding_n + float(plant.side_load.friction_n(0.0)),
        gas_force_n=plant.gas_force_n,
        series_stiffness_n_m=plant.series_stiffness_n_m,
        play_mm=1e3 * plant.play_m,
    )


def _drop(plant: Plant, opening: Opening, area_m2: float, velocity_m_s: Array, temperature_c: float) -> Array:
    return drop_for(velocity_m_s * area_m2, opening, plant.oil, temperature_c)


def hydraulic_force(
    plant: Plant, direction: Direction, velocity_m_s: Array, temperature_c: float = 20.0, travel_m: float = 0.0
) -> Array:
    """Steady force of oil alone against speed at the eye, both magnitudes, same shape, at a piston travel.

    Oil counts as incompressible, gas and friction as absent. Both valves on the way of the oil are in it: in a
    twin-tube the metering valve and the intake at the other end, in a lever-arm the valve and the refill.
    """
    if not plant.has_oil:
        return np.zeros_like(velocity_m_s)
    ring, bore = (a * plant.arm_ratio for a in plant.areas_m2)
    (forward, backward), (foot, foot_intake), (upper, upper_intake) = plant.paths
    leak = plant.piston_leak_m3_s_pa
    rebound = direction == "rebound"
    main = with_leak(forward if rebound else backward, leak)
    main = replace(main, bleed_m2=main.bleed_m2 + float(plant.groove.open_m2(travel_m)))
    through_piston = 0.0 if plant.kind == "lever-arm" else ring
    force = through_piston * _drop(plant, main, through_piston, velocity_m_s, temperature_c) if through_piston else 0.0
    if plant.has_foot_valve:
        rod = bore - ring
        force = force + rod * _drop(plant, foot_intake if rebound else foot, rod, velocity_m_s, temperature_c)
    if plant.kind == "lever-arm":
        valve, intake = (upper, foot_intake) if rebound else (foot, upper_intake)
        force = _lever_drop(plant, valve, intake, ring * velocity_m_s, temperature_c) * ring
    return np.asarray(force)


def _lever_drop(plant: Plant, valve: Opening, intake: Opening, flow_m3_s: Array, temperature_c: float) -> Array:
    """Pressure across the pair of pistons: valve out and refill in, in series, the piston leak across both."""
    leak = plant.piston_leak_m3_s_pa * float(
        plant.oil.dynamic_viscosity_pa_s(20.0) / plant.oil.dynamic_viscosity_pa_s(temperature_c)
    )
    if leak == 0:
        return drop_for(flow_m3_s, valve, plant.oil, temperature_c) + drop_for(
            flow_m3_s, intake, plant.oil, temperature_c
        )
    drop = np.zeros_like(flow_m3_s)
    low, high = np.zeros_like(flow_m3_s), flow_m3_s
    for _ in range(60):
        middle = 0.5 * (low + high)
        drop = drop_for(middle, valve, plant.oil, temperature_c) + drop_for(middle, intake, plant.oil, temperature_c)
        short = middle + leak * drop < flow_m3_s
        low, high = np.where(short, middle, low), np.where(short, high, middle)
    return drop


def friction_force(plant: Plant, velocity_m_s: Array) -> Array:
    """Dry friction against speed in mid-stroke, away from the tight spot and from rest, magnitudes, same shape."""
    f = plant.friction
    falling = np.exp(-((velocity_m_s / f.breakaway_speed_m_s) ** 2))
    level = (f.sliding_n + float(plant.side_load.friction_n(0.0))) * (1.0 + (f.breakaway_ratio - 1.0) * falling)
    return np.asarray(level * np.tanh(velocity_m_s / f.smoothing_m_s) + f.viscous_n_s_m * velocity_m_s)


def bench_reading(plant: Plant, direction: Direction, velocity_m_s: Array, temperature_c: float = 20.0) -> Array:
    """What a bench reads at peak speed, friction in and gas force out, magnitudes, same shape."""
    return hydraulic_force(plant, direction, velocity_m_s, temperature_c) + friction_force(plant, velocity_m_s)
