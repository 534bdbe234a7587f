"""The ride that one measured unit gives one corner, and what other springs and settings would give."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from dampkit.damper.fitted import DamperFit
from dampkit.needs.corner import Corner
from dampkit.needs.ride import EventRide, Road, TradeOff, over_bump, over_kerb, ride_on_road, trade_off
from dampkit.needs.simulate import cases_of
from dampkit.needs.weighting import felt_as
from dampkit.needs.wheel_curve import measured_curves

RATE_SHARES = (0.8, 1.0, 1.25)  # of the corner's wheel rate, in the trade-off
FAIR_ROAD = Road()
FORCE_SHARES = (0.5, 0.7, 1.0, 1.4, 2.0)  # of the unit's force


@dataclass(frozen=True)
class RideCheck:
    """On one road, one kerb and one bump. `within_test` is False where the road drove the damper beyond the stages run.

    `trade` shows comfort against wheel contact for other springs and for the same curve made softer or firmer.
    """

    road: Road
    weighted_acceleration_m_s2: float
    felt: str
    tyre_load_variation_ratio: float
    travel_rms_m: float
    fastest_damper_m_s: float
    within_test: bool
    kerb: EventRide
    bump: EventRide
    trade: TradeOff


def ride_check(fit: DamperFit, corner: Corner, road: Road = FAIR_ROAD) -> RideCheck | None:
    """None where a direction of the unit has no fit. Source: [iso8608] for the road, [iso2631] for comfort."""
    curves = measured_curves(fit, corner.motion_ratio)
    if curves is None or fit.rebound is None or fit.compression is None:
        return None
    cases = cases_of(corner, curves)
    ride = ride_on_road(cases, road)
    fastest = corner.motion_ratio * float(ride.top_travel_speed_m_s[0])
    tested = min(float(fit.rebound.velocity_m_s[-1]), float(fit.compression.velocity_m_s[-1]))
    weighted = float(ride.weighted_acceleration_m_s2[0])
    return RideCheck(
        road=road,
        weighted_acceleration_m_s2=weighted,
        felt=felt_as(weighted),
        tyre_load_variation_ratio=float(ride.tyre_load_variation_ratio[0]),
        travel_rms_m=float(ride.travel_rms_m[0]),
        fastest_damper_m_s=fastest,
        within_test=fastest <= tested,
        kerb=over_kerb(cases),
        bump=over_bump(cases),
        trade=trade_off(corner, curves, corner.wheel_rate_n_m * np.array(RATE_SHARES), np.array(FORCE_SHARES), road),
    )
