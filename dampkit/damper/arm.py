"""The arm of a unit that turns on a shaft: how far its end moves for a turn, so what a force at the end is in torque."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

import numpy as np
from pydantic import Field, FiniteFloat

from dampkit.bench.declared import Declared, NotNegative, Positive
from dampkit.quantities import Array, read_only

REACH_DEG = 85.0  # of the arm from square, beyond which a pull turns it no more; own choice
STEPS = 17_001  # of the table of angles: a hundredth of a degree


class Arm(Declared):
    """How the arm stands on the bench. `angle_deg`: in the middle of the stroke, from square to the line of the pull, and
    above 0 where it leans towards extension. `link_mm`: of a link between the arm's end and the bench, which lies in the
    line of the pull in the middle of the stroke; without one the arm's end itself is led along that line.
    """

    angle_deg: Annotated[FiniteFloat, Field(ge=-80, le=80)] = 0.0
    link_mm: Positive | None = None


class TorqueReference(Declared):
    """Torques of a known-good unit at the shaft: readings, friction in, positive magnitudes; at angular speeds of it."""

    angular_velocity_deg_s: tuple[Positive, ...] = Field(min_length=1, strict=False)
    rebound_torque_n_m: tuple[NotNegative, ...] = Field(strict=False)
    compression_torque_n_m: tuple[NotNegative, ...] = Field(strict=False)
    temperature_c: Annotated[FiniteFloat, Field(ge=-40, le=150)] = 20.0  # of the oil when good; 20 common practice
    tolerance_percent: NotNegative = 15.0
    tolerance_floor_n_m: NotNegative = 4.0  # 25 N, the floor of forces, at an arm of 160 mm

    def at(self, arm_m: float) -> dict[str, object]:
        """The same as forces at the arm's end, in the keys of a reference: F = M / r at v = r omega."""
        speeds = np.radians(self.angular_velocity_deg_s) * arm_m
        return {
            "velocity_m_s": tuple(speeds.tolist()),
            "rebound_force_n": tuple(m / arm_m for m in self.rebound_torque_n_m),
            "compression_force_n": tuple(m / arm_m for m in self.compression_torque_n_m),
            "temperature_c": self.temperature_c,
            "tolerance_percent": self.tolerance_percent,
            "tolerance_floor_n": self.tolerance_floor_n_m / arm_m,
        }


@dataclass(frozen=True)
class Swing:
    """Over the travel from the middle of the stroke, extension positive, shape (N,): the arm's angle from square, and the
    arm that turns force into torque. NaN where the travel is beyond the arm's reach."""

    travel_m: Array
    angle_rad: Array
    arm_m: Array


def swing(length_m: float, arm: Arm | None, travel_m: Array) -> Swing:
    """Effective arm dx/dphi, since force times travel is torque times angle.

    Led along the line: x = L sin phi. By a link of length l that lies in the line at phi0:
    x = L sin phi + sqrt(l^2 - L^2 (cos phi0 - cos phi)^2). Without a declared stand the arm is square all along.
    Source: own, from virtual work and the geometry of a slider-crank.
    """
    if arm is None:
        return Swing(travel_m, read_only(travel_m / length_m), read_only(np.full_like(travel_m, length_m)))
    start = np.radians(arm.angle_deg)
    phi = np.radians(np.linspace(-REACH_DEG, REACH_DEG, STEPS))
    x, effective = length_m * np.sin(phi), length_m * np.cos(phi)
    middle = length_m * np.sin(start)
    if arm.link_mm is not None:
        link, aside = 1e-3 * arm.link_mm, length_m * (np.cos(start) - np.cos(phi))
        with np.errstate(invalid="ignore", divide="ignore"):
            along = np.sqrt(link**2 - aside**2)
            x, effective = x + along, effective - aside * length_m * np.sin(phi) / along
        middle += link
    usable = np.isfinite(effective) & (effective > 0)
    inside = _run_about(usable, int(np.argmin(np.abs(phi - start))))
    angle, reach = (
        np.interp(travel_m, x[inside] - middle, y[inside], left=np.nan, right=np.nan) for y in (phi, effective)
    )
    return Swing(travel_m, read_only(angle), read_only(reach))


def arm_at_middle_m(length_m: float, arm: Arm | None) -> float:
    """The arm in the middle of the stroke, where readings are taken."""
    return length_m if arm is None else float(length_m * np.cos(np.radians(arm.angle_deg)))


def _run_about(usable: Array | np.ndarray[tuple[int], np.dtype[np.bool_]], at: int) -> slice:
    """The unbroken run of True about an index."""
    gaps = np.flatnonzero(~np.asarray(usable, dtype=bool))
    low = gaps[gaps < at].max(initial=-1) + 1
    high = gaps[gaps > at].min(initial=usable.size)
    return slice(int(low), int(high))
