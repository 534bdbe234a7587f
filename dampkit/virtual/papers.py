"""What a workshop has written down of a made-up unit and the car it is for: damper.toml and vehicle.toml."""

from __future__ import annotations

from typing import Literal

import numpy as np

from dampkit.frozen import frozen
from dampkit.quantities import Array
from dampkit.virtual.oil import ATMOSPHERE_PA
from dampkit.virtual.plant import Plant, SideLoad
from dampkit.virtual.truth import bench_reading

Written = Literal["none", "force", "torque"]  # how a good unit's readings are written down, if at all
ARM_LENGTH_MM = 160.0  # pivot to eye of the lever-arm units


@frozen
class Car:
    """An invented corner of an invented car."""

    name: str
    sprung_mass_kg: float
    unsprung_mass_kg: float
    wheel_rate_n_mm: float
    tyre_rate_n_mm: float
    damper_motion_ratio: float
    damping_ratio: float
    rebound_share: float


def _numbers(values: Array, digits: int) -> str:
    return "[" + ", ".join(f"{v:.{digits}f}" for v in values) + "]"


def damper_toml(unit: Plant, number: int, speeds: Array, temperature_c: float, reference: Written = "force") -> str:
    """The unit as on its drawing, with the forces of the sound one at an oil temperature: friction in, gas force out."""
    forces = [bench_reading(unit, d, speeds, temperature_c) for d in ("rebound", "compression")]
    lines = [
        "# made up, like everything from the Hollow Moon Damper Works",
        "[damper]",
        f'serial = "HM-{number}"',
        f'kind = "{unit.kind}"',
    ]
    if unit.has_oil:
        lines += [
            f"piston_diameter_mm = {1e3 * unit.piston_diameter_m:.1f}",
            f"oil_density_kg_m3 = {unit.oil.density_20_kg_m3:.1f}",
        ]
    if unit.kind == "lever-arm":
        lines += [f"arm_length_mm = {ARM_LENGTH_MM:.1f}", f"piston_arm_mm = {ARM_LENGTH_MM * unit.arm_ratio:.1f}"]
    elif unit.has_oil:
        lines.append(f"rod_diameter_mm = {1e3 * unit.rod_diameter_m:.1f}")
    lines += _strut(unit.side_load)
    lines += _reference(forces, speeds, reference)
    if unit.kind == "monotube":
        charge = 1e-5 * (unit.gas_pressure_pa - ATMOSPHERE_PA)
        lines += ["", "[gas]", f"pressure_bar = {charge:.1f}", f"temperature_c = {unit.start_c:.1f}"]
    return "\n".join(lines) + "\n"


def _reference(forces: list[Array], speeds: Array, written: Written) -> list[str]:
    tolerance = "tolerance_percent = 15.0"
    if written == "none":
        return []
    if written == "torque":
        arm_m = 1e-3 * ARM_LENGTH_MM
        torques = [arm_m * f for f in forces]
        return [
            "",
            "[reference_torque]",
            f"angular_velocity_deg_s = {_numbers(np.degrees(speeds / arm_m), 2)}",
            f"rebound_torque_nm = {_numbers(torques[0], 2)}",
            f"compression_torque_nm = {_numbers(torques[1], 2)}",
            tolerance,
            f"tolerance_floor_nm = {25.0 * arm_m:.1f}",
        ]
    return [
        "",
        "[reference]",
        f"velocity_m_s = {_numbers(speeds, 3)}",
        f"rebound_force_n = {_numbers(forces[0], 1)}",
        f"compression_force_n = {_numbers(forces[1], 1)}",
        tolerance,
        "tolerance_floor_n = 25.0",
    ]


def _strut(side: SideLoad) -> list[str]:
    if not side.load_n:
        return []
    lengths = {"load_to_guide_mm": side.to_guide_m, "guide_to_piston_mm": side.guide_to_piston_m}
    load = ["", "[strut]", f"side_load_n = {side.load_n:.1f}"]
    return ['duty = "strut"', *load, *(f"{name} = {1e3 * m:.1f}" for name, m in lengths.items())]


def vehicle_toml(car: Car) -> str:
    return f"""[vehicle]
name = "{car.name}"

[corner]
sprung_mass_kg = {car.sprung_mass_kg:.1f}
unsprung_mass_kg = {car.unsprung_mass_kg:.1f}
wheel_rate_n_mm = {car.wheel_rate_n_mm:.1f}
tyre_rate_n_mm = {car.tyre_rate_n_mm:.1f}
damper_motion_ratio = {car.damper_motion_ratio:.2f}

[target]
damping_ratio = {car.damping_ratio:.2f}
rebound_share = {car.rebound_share:.2f}
"""
