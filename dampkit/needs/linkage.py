"""What lies between wheel and damper: a damper that leans, or a lever arm on a drop link."""

from __future__ import annotations

import math

import numpy as np

from dampkit.frozen import frozen
from dampkit.quantities import Array


def leaning_ratio(mount_ratio: float, lean_rad: float) -> float:
    """Damper travel per wheel travel where the damper leans from the path of its moving end: ratio x cos(lean).

    Damping at the wheel falls with the square. Source: [dixon2007] (motion ratio).
    """
    return mount_ratio * math.cos(lean_rad)


@frozen
class LeverLinkage:
    """A lever-arm damper on the body, its arm joined to the suspension by a drop link; angles at ride height.

    `arm_angle_rad` is the arm's from level, positive with the eye above the shaft; `link_lean_rad` the link's from
    upright, positive where its lower end is further from the shaft; `pickup_ratio` the travel of the link's lower
    end per wheel travel, straight up and down. `bench_arm_m` is where the bench pulled, from the shaft.
    """

    arm_m: float
    arm_angle_rad: float
    link_m: float
    link_lean_rad: float
    pickup_ratio: float
    bench_arm_m: float

    def arm_angles_rad(self, wheel_travel_m: Array) -> Array:
        """Angle of the arm at wheel travels (upward positive), same shape; NaN where the link cannot reach.

        The eye is where a circle about the shaft meets one about the link's lower end. Plane geometry.
        """
        away, up = self._lower_end()
        up_now = up + self.pickup_ratio * wheel_travel_m
        reach = np.hypot(away, up_now)
        with np.errstate(invalid="ignore"):
            corner = np.arccos((self.arm_m**2 + reach**2 - self.link_m**2) / (2 * self.arm_m * reach))
        side = math.copysign(1.0, self.arm_angle_rad - math.atan2(up, away))
        return np.asarray(np.arctan2(up_now, away) + side * corner)

    def ratios(self, wheel_travel_m: Array) -> Array:
        """Travel at the bench's arm per wheel travel, same shape as the travels; NaN where the link cannot reach.

        The link keeps its length: its ends move alike along it. Source: own, by differentiating that.
        """
        angle = self.arm_angles_rad(wheel_travel_m)
        away, up = self._lower_end()
        along_x = self.arm_m * np.cos(angle) - away
        along_y = self.arm_m * np.sin(angle) - up - self.pickup_ratio * wheel_travel_m
        turning = -along_x * np.sin(angle) + along_y * np.cos(angle)
        return np.asarray(self.bench_arm_m * self.pickup_ratio * along_y / (self.arm_m * turning))

    @property
    def ratio(self) -> float:
        """At ride height."""
        return float(self.ratios(np.zeros(1))[0])

    def _lower_end(self) -> tuple[float, float]:
        """Of the link, from the shaft: outward and upward."""
        away = self.arm_m * math.cos(self.arm_angle_rad) + self.link_m * math.sin(self.link_lean_rad)
        up = self.arm_m * math.sin(self.arm_angle_rad) - self.link_m * math.cos(self.link_lean_rad)
        return away, up
