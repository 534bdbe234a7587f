"""Faults, each as a change to the plant alone."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace

from dampkit.errors import BadSettings
from dampkit.frozen import frozen
from dampkit.virtual.oil import ATMOSPHERE_PA
from dampkit.virtual.plant import KINDS, Friction, Kind, Opening, Plant

TELESCOPIC: tuple[Kind, ...] = ("twin-tube", "monotube")
STEERING: tuple[Kind, ...] = ("steering-damper",)
HYDRAULIC: tuple[Kind, ...] = (*TELESCOPIC, "lever-arm", *STEERING)
RESERVE: tuple[Kind, ...] = ("twin-tube", "lever-arm", *STEERING)
HALF_STROKE_M = 0.025  # severity of low oil is counted at this travel from mid-stroke


@frozen
class Fault:
    """A fault: the kinds that can have it, what is changed, and what changes in words, for severity 1 to 5."""

    code: str
    kinds: tuple[Kind, ...]
    change: Callable[[Plant, float], Plant]
    physical: str


def _void_area_m2(plant: Plant) -> float:
    """Area that closes a void under the piston: the rod's in a twin-tube, whose piston lets oil pass upward freely."""
    ring, bore = plant.areas_m2
    return (bore - ring if plant.has_foot_valve else bore) * plant.arm_ratio


def _low_oil(plant: Plant, severity: float) -> Plant:
    taken = _void_area_m2(plant)
    swing = taken * HALF_STROKE_M if plant.has_foot_valve else 0.0
    void = 0.002 * severity * taken
    lost = plant.reserve_oil_m3 - plant.pickup_m3 - swing + void
    pressure = plant.gas_pressure_pa * plant.gas_m3 / (plant.gas_m3 + lost)
    if plant.gas_pressure_pa <= 1.01 * ATMOSPHERE_PA:
        pressure = plant.gas_pressure_pa  # breathes: air has come in for the oil
    left = plant.reserve_oil_m3 - lost
    return replace(plant, reserve_oil_m3=left, gas_m3=plant.gas_m3 + lost, gas_pressure_pa=pressure, membrane=False)


def _aerated(plant: Plant, severity: float) -> Plant:
    return replace(plant, oil=replace(plant.oil, free_gas_ratio=plant.oil.free_gas_ratio + 0.02 * severity))


def _low_gas(plant: Plant, severity: float) -> Plant:
    if plant.gas_pressure_pa <= 1.01 * ATMOSPHERE_PA:
        raise BadSettings(
            "fault low_gas_pressure",
            f"{plant.name} holds no charge",
            "a unit with gas pressure",
            "choose another unit or fault",
        )
    over = (plant.gas_pressure_pa - ATMOSPHERE_PA) * (1.0 - 0.18 * severity)
    return replace(plant, gas_pressure_pa=ATMOSPHERE_PA + over)


def _leak(plant: Plant, severity: float) -> Plant:
    share = 0.15 * severity * _knee_flow(plant.rebound, plant) / plant.rebound.crack_pa
    return replace(plant, piston_leak_m3_s_pa=plant.piston_leak_m3_s_pa + share)


def _knee_flow(opening: Opening, plant: Plant) -> float:
    fast = math.sqrt(2.0 * opening.crack_pa / float(plant.oil.density_kg_m3(20.0)))
    return opening.leak_m3_s_pa * opening.crack_pa + opening.bleed_m2 * fast


def _weak_blowoff(plant: Plant, severity: float) -> Plant:
    return replace(plant, rebound=replace(plant.rebound, crack_pa=plant.rebound.crack_pa * (1.0 - 0.14 * severity)))


def _blocked_bleed(plant: Plant, severity: float) -> Plant:
    return replace(plant, rebound=replace(plant.rebound, bleed_m2=plant.rebound.bleed_m2 * (1.0 - 0.17 * severity)))


def _friction(plant: Plant, **changed: float) -> Plant:
    friction: Friction = replace(plant.friction, **changed)
    return replace(plant, friction=friction)


def _fade(plant: Plant, severity: float) -> Plant:
    thin = replace(plant.oil, viscosity_100_mm2_s=plant.oil.viscosity_100_mm2_s * (1.0 - 0.06 * severity))
    share = 0.12 * severity
    return replace(
        plant,
        oil=thin,
        rebound=_viscous(plant.rebound, plant, share),
        compression=_viscous(plant.compression, plant, share),
        heat_capacity_j_k=plant.heat_capacity_j_k / (1.0 + severity),
        cooling_w_k=0.5,
    )


def _viscous(opening: Opening, plant: Plant, share: float) -> Opening:
    """The opening with a share of its bleed turned into clearance that passes the same flow cold at the knee."""
    fast = math.sqrt(2.0 * opening.crack_pa / float(plant.oil.density_kg_m3(20.0)))
    turned = share * opening.bleed_m2
    leak = opening.leak_m3_s_pa + turned * fast / opening.crack_pa
    return replace(opening, bleed_m2=opening.bleed_m2 - turned, leak_m3_s_pa=leak)


def _trapped_air(plant: Plant, severity: float) -> Plant:
    squeezed = (plant.gas_pressure_pa / ATMOSPHERE_PA) ** (1.0 / plant.oil.gas_exponent)
    above = 0.0005 * severity * squeezed * plant.areas_m2[0] * plant.arm_ratio
    return replace(plant, trapped_gas_m3=(above, 0.0008 * severity * squeezed * _void_area_m2(plant)))


def _starved(plant: Plant, severity: float) -> Plant:
    return replace(plant, foot_intake=replace(plant.foot_intake, bleed_m2=3e-6 / severity, open_m2=0.0))


def _swapped(plant: Plant, severity: float) -> Plant:
    del severity  # there is no half-way
    return replace(plant, rebound=plant.compression, compression=plant.rebound)


def _dead(plant: Plant, severity: float) -> Plant:
    scale = plant.areas_m2[0] * plant.arm_ratio / 6e-4
    return replace(plant, rebound=replace(plant.rebound, bleed_m2=plant.rebound.bleed_m2 + 2e-6 * severity * scale))


def _dry_bush(plant: Plant, severity: float) -> Plant:
    more = plant.side_load.coefficient + 0.03 * severity
    return replace(plant, side_load=replace(plant.side_load, coefficient=more))


FAULTS: tuple[Fault, ...] = (
    Fault(
        "low_oil",
        RESERVE,
        _low_oil,
        "reserve oil down until its intake draws gas for 2 mm of travel a step at 25 mm of extension, its membrane gone",
    ),
    Fault("aerated_oil", HYDRAULIC, _aerated, "2 % more free gas a step, as bubbles all through the oil"),
    Fault("low_gas_pressure", TELESCOPIC, _low_gas, "18 % of the gauge pressure lost a step"),
    Fault(
        "internal_leak",
        HYDRAULIC,
        _leak,
        "a clearance past the piston that passes 15 % of the rebound knee flow a step, more when warm",
    ),
    Fault("weak_blowoff", HYDRAULIC, _weak_blowoff, "rebound blow-off opens at 14 % less pressure a step"),
    Fault("blocked_bleed", HYDRAULIC, _blocked_bleed, "17 % of the rebound bleed area closed a step"),
    Fault(
        "high_friction",
        HYDRAULIC,
        lambda p, s: _friction(p, sliding_n=p.friction.sliding_n + 25.0 * s),
        "25 N more sliding friction a step, alike over the stroke",
    ),
    Fault(
        "bent_rod",
        (*TELESCOPIC, *STEERING),
        lambda p, s: _friction(p, bump_ratio=0.8 * s),
        "friction higher by 80 % a step at one place of the stroke, 6 mm wide",
    ),
    Fault("loose_mount", KINDS, lambda p, s: replace(p, play_m=p.play_m + 4e-4 * s), "0.4 mm more play a step"),
    Fault(
        "fade",
        HYDRAULIC,
        _fade,
        "12 % of the bleed a step turned into worn clearance, thinner oil when hot, less metal to take the heat",
    ),
    Fault(
        "trapped_air",
        HYDRAULIC,
        _trapped_air,
        "an air pocket in both working chambers, 0.5 and 0.8 mm of travel deep a step; it leaves with travel",
    ),
    Fault("starved_refill", RESERVE, _starved, "refill valves that open 3 mm2 over the step"),
    Fault("swapped_valves", ("monotube",), _swapped, "rebound valve and compression valve changed over"),
    Fault("dead_rebound", HYDRAULIC, _dead, "rebound valve held off its seat by 2 mm2 a step on a 30 mm bore"),
    Fault(
        "glazed_discs",
        ("friction-disc",),
        lambda p, s: _friction(p, sliding_n=p.friction.sliding_n * (1 - 0.13 * s)),
        "13 % less friction a step",
    ),
    Fault(
        "sticking_discs",
        ("friction-disc",),
        lambda p, s: _friction(p, breakaway_ratio=1.1 + 0.15 * s),
        "force to start higher by 15 % of the sliding force a step",
    ),
    Fault(
        "greased_discs",
        ("friction-disc",),
        lambda p, s: _friction(p, sliding_n=p.friction.sliding_n * (1 - 0.08 * s), viscous_n_s_m=60.0 * s),
        "friction that grows with speed by 60 N s/m a step",
    ),
)
# Of a strut under side load alone, which no random unit is
DRY_BUSH = Fault(
    "dry_bush", TELESCOPIC, _dry_bush, "a strut's bush and band rub 0.03 more of what presses on them a step"
)
BY_CODE = {fault.code: fault for fault in (*FAULTS, DRY_BUSH)}


def faulted(plant: Plant, code: str, severity: float = 3.0) -> Plant:
    """The plant with one more fault of severity 1 (slight) to 5 (gross).

    Raises BadSettings for an unknown code, a severity out of range, or a kind that cannot have the fault.
    """
    fault = BY_CODE.get(code)
    if fault is None:
        raise BadSettings("fault", f"'{code}' is not known", "one of " + ", ".join(BY_CODE), "choose one of these")
    if plant.kind not in fault.kinds:
        raise BadSettings(
            f"fault {code}",
            f"a {plant.kind} cannot have it",
            "one of " + ", ".join(fault.kinds),
            "choose another unit or fault",
        )
    if not 1.0 <= severity <= 5.0:
        raise BadSettings(f"fault {code}", f"severity {severity:g}", "1 to 5", "choose a severity in that range")
    return replace(fault.change(plant, severity), name=f"{plant.name}, {code} {severity:g}")
