"""The arm of a unit that turns on a shaft: how far its end moves for a turn, so what a force at the end is in torque."""

from typing import Annotated

import numpy as np
from pydantic import Field, FiniteFloat

from dampkit.bench.declared import Declared, NotNegative, Positive
from dampkit.bench.described import described
from dampkit.damper.kinds import WITH_ARM
from dampkit.frozen import frozen
from dampkit.quantities import Array, read_only

REACH_DEG = 85.0  # of the arm from square, beyond which a pull turns it no more; own choice
STEPS = 17_001  # of the table of angles: a hundredth of a degree


class Arm(Declared):
    """How the arm of a lever-arm or friction-disc unit stands on the bench."""

    angle_deg: Annotated[Annotated[FiniteFloat, Field(ge=-80, le=80)], described(
        "Angle of the arm in the middle of the stroke, from square to the line of the pull; above 0 where it leans towards extension.",
        0.0, "Hold a protractor between the arm and a square set on the line of the pull.", kinds=WITH_ARM, usual=(-60, 60))] = 0.0  # fmt: skip
    link_mm: Annotated[Positive | None, described(
        "Length of a link between the arm's end and the bench, in the line of the pull at mid-stroke; without one the end itself is led along that line.",
        120.0, "Measure from the middle of one joint to the middle of the other.", kinds=WITH_ARM, usual=(20, 600))] = None  # fmt: skip


class TorqueReference(Declared):
    """Torques of a known-good unit at the shaft: readings, friction in, positive magnitudes; at angular speeds of it."""

    angular_velocity_deg_s: Annotated[tuple[Positive, ...], described(
        "Angular speeds of the shaft, slow to fast.", [20.0, 40.0, 120.0], "Take them from the test sheet; 1 rpm is 6 degrees a second.", kinds=WITH_ARM, usual=(0.5, 2000))] = Field(min_length=1, strict=False)  # fmt: skip
    rebound_torque_nm: Annotated[tuple[NotNegative, ...], described(
        "Torque in rebound at each of these speeds.", [12.0, 32.0, 95.0], "Read them on a unit known to be good; 1 lb ft is 1.356 N m.", kinds=WITH_ARM, usual=(0.1, 5000))] = Field(strict=False)  # fmt: skip
    compression_torque_nm: Annotated[tuple[NotNegative, ...], described(
        "Torque in compression at each of these speeds.", [11.0, 30.0, 65.0], "As in rebound; a magnitude, without a sign.", kinds=WITH_ARM, usual=(0.1, 5000))] = Field(strict=False)  # fmt: skip
    temperature_c: Annotated[Annotated[FiniteFloat, Field(ge=-40, le=150)], described(
        "How warm the oil was then; 20 is common practice.", 20.0, "See the test sheet, or hold a probe to the body.", kinds=WITH_ARM, usual=(0, 100))] = 20.0  # fmt: skip
    tolerance_percent: Annotated[NotNegative, described(
        "How far a sound unit may be off, in percent of the torque.", 15.0, "Take it from the specification; 15 is common practice.", kinds=WITH_ARM, usual=(2, 40))] = 15.0  # fmt: skip
    tolerance_floor_nm: Annotated[NotNegative, described(  # 25 N, the floor of forces, at an arm of 160 mm
        "The least that it may be off at small torques.", 4.0, "Take it from the specification.", kinds=WITH_ARM, usual=(0, 60))] = 4.0  # fmt: skip

    def at(self, arm_m: float) -> dict[str, object]:
        """The same as forces at the arm's end, in the keys of a reference: F = M / r at v = r omega."""
        speeds = np.radians(self.angular_velocity_deg_s) * arm_m
        return {
            "velocity_m_s": tuple(speeds.tolist()),
            "rebound_force_n": tuple(m / arm_m for m in self.rebound_torque_nm),
            "compression_force_n": tuple(m / arm_m for m in self.compression_torque_nm),
            "temperature_c": self.temperature_c,
            "tolerance_percent": self.tolerance_percent,
            "tolerance_floor_n": self.tolerance_floor_nm / arm_m,
        }


@frozen
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
