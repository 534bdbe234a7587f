"""Made-up dampers to begin from, one family a kind, and random ones of the same families."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from dampkit.damper.kinds import facts_of
from dampkit.frozen import frozen
from dampkit.virtual.oil import ATMOSPHERE_PA, Oil
from dampkit.virtual.plant import Friction, Kind, Opening, Plant, SideLoad


@frozen
class Aim:
    """The force-speed line that a valve is sized for: knee and top in newtons and metres per second at the eye."""

    knee_m_s: float
    knee_n: float
    top_m_s: float
    top_n: float
    leak_share: float = 0.04  # of the knee flow that passes as clearance


def size_opening(aim: Aim, valve_area_m2: float, swept_area_m2: float, oil: Oil) -> Opening:
    """An opening that meets the aim: bleed up to the knee, then a lift that is a third done at the top.

    `valve_area_m2` turns pressure drop into force, `swept_area_m2` turns speed into flow, both at the eye.
    """
    crack, top = aim.knee_n / valve_area_m2, aim.top_n / valve_area_m2
    at_knee, at_top = aim.knee_m_s * swept_area_m2, aim.top_m_s * swept_area_m2
    leak = aim.leak_share * at_knee / crack
    fast = np.sqrt(2.0 * np.array([crack, top]) / float(oil.density_kg_m3(20.0)))
    bleed = (at_knee - leak * crack) / fast[0]
    span = 3.0 * (top - crack)
    opened = 3.0 * (at_top - leak * top - bleed * fast[1]) / fast[1]
    return Opening(leak, float(bleed), crack, span, float(opened))


def valved(plant: Plant, rebound: Aim, compression: Aim) -> Plant:
    """The plant with both valves sized for their aims."""
    ring, foot = plant.valve_areas_m2
    return replace(
        plant,
        rebound=size_opening(rebound, ring, ring, plant.oil),
        compression=size_opening(compression, foot, foot, plant.oil),
    )


TWIN_TUBE = valved(Plant("twin-tube 30/12", "twin-tube"), Aim(0.12, 520.0, 1.0, 1500.0), Aim(0.10, 240.0, 1.0, 620.0))
TWIN_TUBE_LARGE = valved(
    Plant(
        "twin-tube 35/14",
        "twin-tube",
        piston_diameter_m=0.035,
        rod_diameter_m=0.014,
        chamber_m3=(80e-6, 95e-6),
        reserve_oil_m3=95e-6,
        pickup_m3=60e-6,
        gas_m3=80e-6,
        gas_pressure_pa=ATMOSPHERE_PA,
        friction=Friction(sliding_n=28.0),
    ),
    Aim(0.10, 800.0, 1.0, 2100.0),
    Aim(0.08, 300.0, 1.0, 850.0),
)
MONOTUBE = valved(
    Plant(
        "monotube 46/11",
        "monotube",
        piston_diameter_m=0.046,
        rod_diameter_m=0.011,
        chamber_m3=(120e-6, 140e-6),
        gas_m3=60e-6,
        gas_pressure_pa=2.2e6,
        friction=Friction(sliding_n=35.0),
        series_stiffness_n_m=6e6,
        oil=Oil(free_gas_ratio=0.003),
    ),
    Aim(0.09, 700.0, 1.0, 1900.0),
    Aim(0.11, 450.0, 1.0, 1250.0),
)
MONOTUBE_SMALL = valved(
    Plant(
        "monotube 36/11",
        "monotube",
        piston_diameter_m=0.036,
        rod_diameter_m=0.011,
        chamber_m3=(80e-6, 90e-6),
        gas_m3=40e-6,
        gas_pressure_pa=2.6e6,
        friction=Friction(sliding_n=30.0),
        oil=Oil(free_gas_ratio=0.003),
    ),
    Aim(0.10, 480.0, 1.0, 1400.0),
    Aim(0.10, 330.0, 1.0, 900.0),
)
LEVER_ARM = valved(
    Plant(
        "lever-arm 32",
        "lever-arm",
        piston_diameter_m=0.032,
        arm_ratio=0.25,
        chamber_m3=(35e-6, 35e-6),
        reserve_oil_m3=120e-6,
        pickup_m3=45e-6,
        gas_m3=40e-6,
        gas_pressure_pa=ATMOSPHERE_PA,
        friction=Friction(sliding_n=14.0),
        series_stiffness_n_m=7e5,
        oil=Oil(viscosity_40_mm2_s=22.0, viscosity_100_mm2_s=4.6),
    ),
    Aim(0.15, 420.0, 0.5, 780.0),
    Aim(0.12, 260.0, 0.5, 520.0),
)
FRICTION_DISC = Plant(
    "friction-disc 4-plate",
    "friction-disc",
    gas_pressure_pa=ATMOSPHERE_PA,
    series_stiffness_n_m=4e5,
    friction=Friction(sliding_n=210.0, breakaway_ratio=1.12, viscous_n_s_m=4.0, smoothing_m_s=3e-4),
    heat_capacity_j_k=1500.0,
)

STEERING_DAMPER = valved(
    Plant(
        "steering-damper 25/14",
        "steering-damper",
        piston_diameter_m=0.025,
        rod_diameter_m=0.014,
        chamber_m3=(20e-6, 30e-6),
        reserve_oil_m3=35e-6,
        pickup_m3=18e-6,
        gas_m3=15e-6,
        gas_pressure_pa=1.2e5,
        membrane=True,  # keeps the gas out of the oil
        oil=Oil(free_gas_ratio=0.003),
        friction=Friction(sliding_n=14.0),
        heat_capacity_j_k=500.0,
    ),
    Aim(0.10, 240.0, 0.8, 560.0),
    Aim(0.10, 240.0, 0.8, 560.0),
)
STRUT = valved(
    Plant(
        "strut 30/20",
        "twin-tube",
        rod_diameter_m=0.020,
        chamber_m3=(55e-6, 110e-6),
        reserve_oil_m3=110e-6,
        gas_m3=120e-6,
        friction=Friction(sliding_n=34.0),
        side_load=SideLoad(600.0, to_guide_m=0.09, guide_to_piston_m=0.19),
    ),
    Aim(0.11, 560.0, 1.0, 1550.0),
    Aim(0.10, 300.0, 1.0, 720.0),
)

BASE: dict[Kind, tuple[Plant, ...]] = {
    "twin-tube": (TWIN_TUBE, TWIN_TUBE_LARGE),
    "monotube": (MONOTUBE, MONOTUBE_SMALL),
    "lever-arm": (LEVER_ARM,),
    "friction-disc": (FRICTION_DISC,),
    "steering-damper": (STEERING_DAMPER,),
}


def random_unit(rng: np.random.Generator, kind: Kind) -> Plant:
    """A sound unit of a kind with sizes, valves, friction and oil spread about one of the base units."""
    base = BASE[kind][rng.integers(len(BASE[kind]))]
    oil = replace(
        base.oil,
        viscosity_40_mm2_s=base.oil.viscosity_40_mm2_s * _about(rng, 0.15),
        free_gas_ratio=base.oil.free_gas_ratio * _about(rng, 0.4),
    )
    plant = replace(
        base,
        name=f"{base.name} random",
        piston_diameter_m=base.piston_diameter_m * _about(rng, 0.08),
        rod_diameter_m=base.rod_diameter_m * _about(rng, 0.08),
        gas_pressure_pa=max(ATMOSPHERE_PA, base.gas_pressure_pa * _about(rng, 0.15)),
        friction=replace(base.friction, sliding_n=base.friction.sliding_n * _about(rng, 0.3)),
        series_stiffness_n_m=base.series_stiffness_n_m * _about(rng, 0.3),
        oil=oil,
    )
    if not plant.has_oil:
        return plant
    rebound = _aim(rng, base, 0)
    return valved(plant, rebound, rebound if facts_of(kind).alike_share else _aim(rng, base, 1))


def _about(rng: np.random.Generator, spread: float) -> float:
    return float(rng.uniform(1.0 - spread, 1.0 + spread))


def _aim(rng: np.random.Generator, base: Plant, direction: int) -> Aim:
    """A random aim of the order of a base unit's: knee 0.06 to 0.2 m/s at a telescopic, forces within 40 %."""
    area = base.valve_areas_m2[direction]
    opening = (base.rebound, base.compression)[direction]
    knee = opening.crack_pa * area * _about(rng, 0.4)
    slower = base.kind == "lever-arm"
    knee_speed = float(rng.uniform(0.08, 0.18)) if slower else float(rng.uniform(0.07, 0.16))
    top_n, leak_share = knee * float(rng.uniform(1.7, 3.2)), float(rng.uniform(0.02, 0.08))
    return Aim(knee_speed, knee, 0.5 if slower else 1.0, top_n, leak_share)
