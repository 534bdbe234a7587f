"""How fast a road moves the damper, by body motion and by wheel hop, and what that says about knee and blow-off."""

from __future__ import annotations

import math

import numpy as np
import numpy.typing as npt

from dampkit.frozen import frozen
from dampkit.needs.corner import Corner
from dampkit.needs.requirement import damper_target_ratio
from dampkit.needs.road import HIGHEST_CYCLES_M, LOWEST_CYCLES_M, Road, height_density_m2_hz, roughness_m3
from dampkit.quantities import Array, running_integral

POINTS = 4000
USUAL_SHARE = 2.0  # of the root mean square: a random motion stays below it 95 % of the time


@frozen
class RoadSpeeds:
    """Root mean squares on one road with the target damping: speed at the damper, tyre load over standing load."""

    body_m_s: float
    wheel_m_s: float
    tyre_load_variation_ratio: float

    @property
    def knee_m_s(self) -> float:
        """Body motion stays below it 95 % of the time, so a knee there keeps it damped and spares the hop; own choice."""
        return USUAL_SHARE * self.body_m_s


def road_speeds(corner: Corner, road: Road) -> RoadSpeeds | None:
    """None without a target ratio. Straight damper of the target ratio; body and hop split midway between their modes.

    Source: [iso8608] for the road; the frequency response of the two-mass corner is [barton2018] sec. 3.13.
    """
    ratio = damper_target_ratio(corner)
    if ratio is None:
        return None
    low, high = LOWEST_CYCLES_M * road.speed_m_s, HIGHEST_CYCLES_M * road.speed_m_s
    frequency = np.geomspace(low, high, POINTS)
    travel_speed, tyre = responses(corner, ratio * corner.critical_damping_n_s_m, frequency)
    density = height_density_m2_hz(frequency, roughness_m3(road.road_class), road.speed_m_s)
    modes = corner.modes()
    slow = frequency < math.sqrt(modes.body_frequency_hz * modes.wheel_frequency_hz)
    power = np.abs(travel_speed) ** 2 * density

    def rms(values: Array) -> float:
        return math.sqrt(float(running_integral(values, frequency)[-1]))

    at_damper = corner.motion_ratio
    return RoadSpeeds(
        at_damper * rms(np.where(slow, power, 0.0)),
        at_damper * rms(np.where(slow, 0.0, power)),
        rms(np.abs(tyre) ** 2 * density) / corner.static_tyre_load_n,
    )


Complex = npt.NDArray[np.complex128]


def responses(corner: Corner, wheel_damping_n_s_m: float, frequency_hz: Array) -> tuple[Complex, Complex]:
    """Suspension speed [1/s] and tyre force [N/m] for one metre of road, complex, shape of the frequencies."""
    s = 2j * np.pi * frequency_hz
    ms, mu, kt = corner.sprung_mass_kg, corner.unsprung_mass_kg, corner.tyre_rate_n_m
    strut = corner.wheel_rate_n_m + wheel_damping_n_s_m * s
    body = strut / (ms * s**2 + strut)  # per metre of the wheel
    wheel = kt / (mu * s**2 + strut * (1 - body) + kt)
    return s * wheel * (body - 1), kt * (1 - wheel)
