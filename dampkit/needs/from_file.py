"""What a vehicle file declares, in SI: the corner, its linkage, its stops."""

from __future__ import annotations

import math

from dampkit.errors import BadSettings
from dampkit.needs.corner import GRAVITY_M_S2, N_M_PER_N_MM, Corner
from dampkit.needs.declared import LeverArm, Stop, StopPair, VehicleSpec
from dampkit.needs.linkage import LeverLinkage, leaning_ratio
from dampkit.needs.road import Road
from dampkit.needs.simulate import Stops
from dampkit.needs.springs.declared import at_wheel

MM_PER_M = 1e3
KM_H_PER_M_S = 3.6


def corner_of(spec: VehicleSpec) -> Corner:
    """The corner that a vehicle file declares. Raises BadSettings where a linkage cannot be put together.

    A spring is taken under the load that it carries at ride height: the sprung mass.
    """
    given, target = spec.corner, spec.target
    rate, friction = (given.wheel_rate_n_mm or 0.0) * N_M_PER_N_MM, 0.0
    if spec.spring is not None:
        rate, friction = at_wheel(spec.spring, given.sprung_mass_kg * GRAVITY_M_S2)
        if rate <= 0:
            raise BadSettings("[spring]", "it pushes no harder the further it is bent", "a rate above zero",
                              "check the lever's angle and lengths")  # fmt: skip
    return Corner(
        name=spec.vehicle.name,
        sprung_mass_kg=given.sprung_mass_kg,
        unsprung_mass_kg=given.unsprung_mass_kg,
        wheel_rate_n_m=rate,
        tyre_rate_n_m=given.tyre_rate_n_mm * N_M_PER_N_MM,
        motion_ratio=_motion_ratio(spec),
        target_ratio=target.ratio,
        rebound_share_ratio=target.rebound_share,
        spring_friction_n=friction,
    )


def lever_of(given: LeverArm) -> LeverLinkage:
    return LeverLinkage(
        arm_m=given.arm_mm / MM_PER_M,
        arm_angle_rad=math.radians(given.arm_angle_deg),
        link_m=given.link_mm / MM_PER_M,
        link_lean_rad=math.radians(given.link_lean_deg),
        pickup_ratio=given.pickup_ratio,
        bench_arm_m=(given.bench_arm_mm or given.arm_mm) / MM_PER_M,
    )


def stops_of(given: StopPair) -> Stops | None:
    """None where no stop is declared."""
    if given.compression is None and given.extension is None:
        return None
    inner, outer = _stop(given.compression), _stop(given.extension)
    return Stops(*inner, *outer)


def road_of(spec: VehicleSpec) -> Road:
    return Road(spec.road.road_class, spec.road.speed_km_h / KM_H_PER_M_S)


def _motion_ratio(spec: VehicleSpec) -> float:
    if spec.linkage is None:
        return spec.corner.damper_motion_ratio or 1.0
    if isinstance(spec.linkage, LeverArm):
        ratio = lever_of(spec.linkage).ratio
    else:
        ratio = leaning_ratio(spec.linkage.mount_ratio, math.radians(spec.linkage.lean_deg))
    if not 0.02 < ratio < 5:
        raise BadSettings("[linkage]", f"the damper would move {ratio:.3g} times as far as the wheel",
                          "a ratio between 0.02 and 5", "check lengths and angles: arm and link are nearly in line")  # fmt: skip
    return ratio


def _stop(given: Stop | None) -> tuple[float, float]:
    return (math.inf, 0.0) if given is None else (given.clearance_mm / MM_PER_M, given.rate_n_mm * N_M_PER_N_MM)
