"""What a vehicle file declares, in SI: the corner, its linkage, its stops."""

from __future__ import annotations

import math

from dampkit.errors import BadSettings
from dampkit.needs.corner import N_M_PER_N_MM, Corner
from dampkit.needs.declared import LeverArm, Stop, StopPair, VehicleSpec
from dampkit.needs.linkage import LeverLinkage, leaning_ratio
from dampkit.needs.road import Road
from dampkit.needs.simulate import Stops
from dampkit.needs.springs.declared import at_wheel
from dampkit.quantities import GRAVITY_M_S2

MM_PER_M = 1e3
KM_H_PER_M_S = 3.6
LEAST_RATE_N_M, MOST_RATE_N_M = 1.0, 1e8  # as [corner] wheel_rate_n_mm allows

LEAST_HZ, MOST_HZ = 0.1, 100.0  # of a corner's two motions; far wider than any vehicle


def corner_of(spec: VehicleSpec) -> Corner:
    """The corner that a vehicle file declares. Raises BadSettings where a linkage cannot be put together or
    masses and rates cannot belong to one wheel.

    A spring is taken under the load that it carries at ride height: the sprung mass.
    """
    given, target = spec.corner, spec.target
    rate, friction = (given.wheel_rate_n_mm or 0.0) * N_M_PER_N_MM, 0.0
    if spec.spring is not None:
        rate, friction = at_wheel(spec.spring, given.sprung_mass_kg * GRAVITY_M_S2)
        _check_rate(rate)
    corner = Corner(
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
    _check_frequencies(corner)
    return corner


def _check_rate(rate_n_m: float) -> None:
    if not rate_n_m > 0:
        raise BadSettings("[spring]", "it pushes no harder the further it is bent", "a rate above zero",
                          "check the lever's angle and lengths")  # fmt: skip
    if not LEAST_RATE_N_M <= rate_n_m <= MOST_RATE_N_M:
        raise BadSettings("[spring]", f"its rate at the wheel comes out at {rate_n_m / N_M_PER_N_MM:.3g} N/mm",
                          "a rate from 0.001 to 100 000 N/mm", "check the sizes and their units")  # fmt: skip


def _check_frequencies(corner: Corner) -> None:
    modes = corner.modes()
    for what, hertz in (("body", modes.body_frequency_hz), ("wheel", modes.wheel_frequency_hz)):
        if not LEAST_HZ <= hertz <= MOST_HZ:
            raise BadSettings("[corner]", f"the {what} would swing at {hertz:.3g} Hz",
                              f"{LEAST_HZ:g} to {MOST_HZ:g} Hz; a car has about 1 to 2 Hz and 8 to 15 Hz",
                              "check masses (kg) and rates (N/mm), all of one wheel")  # fmt: skip


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
