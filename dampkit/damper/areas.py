"""From force terms to orifice areas, where the damper's dimensions are declared."""

from __future__ import annotations

import math

from dampkit.damper.declared import DamperSpec
from dampkit.damper.kinds import facts_of

DENSITY_KG_M3 = 860.0  # of damper oil where none is declared; [dixon2007] ch. 5, from memory
EXPANSION_PER_K = 7.5e-4  # of damper oil, by volume; [dixon2007] ch. 5, from memory
DECLARED_AT_C = 20.0  # temperature for which a declared density holds


def working_area_m2(spec: DamperSpec | None, direction: str) -> float | None:
    """Area whose oil the valve of a direction has to pass, at the point where force and speed are measured.

    Rebound: the annulus. Compression: the rod in a twin tube or a lever-arm unit with a declared rod (foot valve),
    the annulus in a monotube; None where the kind does not say which. A lever-arm unit with its arm lengths declared is referred to the arm's eye.
    Source: [dixon2007] ch. 1 and 6.
    """
    facts = facts_of(None if spec is None else spec.damper.kind)
    if spec is None or spec.damper.piston_diameter_mm is None or not facts.oil:
        return None
    bore = _circle(spec.damper.piston_diameter_mm)
    rod = None if spec.damper.rod_diameter_mm is None else _circle(spec.damper.rod_diameter_mm)
    if facts.arm:
        area = bore if rod is None else (bore - rod if direction == "rebound" else rod)
        return area * _arm_ratio(spec)
    if rod is None or facts.foot_valve is None:
        return None
    return rod if direction == "compression" and facts.foot_valve else bore - rod


def orifice_area_mm2_per_bleed(
    spec: DamperSpec | None, direction: str, temperature_c: float = DECLARED_AT_C
) -> float | None:
    """Factor from bleed [m/s/sqrt(N)] to effective orifice area C_d A [mm2]: A^1.5 sqrt(rho/2), rho at temperature_c.

    From Q = C_d A sqrt(2 dp/rho) with Q = A_w v and dp = F/A_w. Source: [merritt1967] ch. 3.
    """
    area = working_area_m2(spec, direction)
    if area is None or spec is None:
        return None
    density = (spec.damper.oil_density_kg_m3 or DENSITY_KG_M3) / (1 + EXPANSION_PER_K * (temperature_c - DECLARED_AT_C))
    return 1e6 * float(area**1.5) * math.sqrt(density / 2)


def rod_area_m2(spec: DamperSpec | None) -> float | None:
    """None where no rod is declared."""
    if spec is None or spec.damper.rod_diameter_mm is None:
        return None
    return _circle(spec.damper.rod_diameter_mm)


def _circle(diameter_mm: float) -> float:
    return 0.25 * math.pi * (diameter_mm * 1e-3) ** 2


def _arm_ratio(spec: DamperSpec) -> float:
    piston_arm, arm = spec.damper.piston_arm_mm, spec.damper.arm_length_mm
    return 1.0 if piston_arm is None or arm is None else piston_arm / arm
