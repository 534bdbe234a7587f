"""The part of the result that says what the vehicle needs and what it gets."""

from typing import Annotated

from dampkit.bench.described import described
from dampkit.outcome.record import AtLeastZero, Columns, EstimateRecord, Numbers, Record, example_of
from dampkit.outcome.ride_record import FactRecord, RideRecord


class RatioRecord(Record):
    """The vehicle's damping at one stage."""

    peak_velocity_m_s: Annotated[AtLeastZero, described("Speed at the damper.", 0.3)]
    damping_ratio: Annotated[EstimateRecord, described(
        "Of the body alone on its spring (one mass), by the energy of the whole measured cycle, friction included.",
        example_of(0.27, 0.262, 0.278))]  # fmt: skip
    rebound_ratio: Annotated[float, described("The same of the rebound half.", 0.38)]
    compression_ratio: Annotated[float, described("The same of the compression half.", 0.16)]
    body_ratio: Annotated[float | None, described("Of the body's swing on spring and tyre (two masses).", 0.25)] = None
    wheel_ratio: Annotated[float | None, described("Of the wheel's swing on spring and tyre (two masses).", 0.31)] = (
        None
    )


class BandRecord(Columns):
    """Force at the damper that the vehicle needs, friction included, positive magnitudes."""

    velocity_m_s: Annotated[Numbers, described("Speeds, slow to fast.", [0.05, 0.3])]
    rebound_n: Annotated[Numbers, described("Wanted in rebound.", [180.0, 1080.0])]
    rebound_low_n: Annotated[Numbers, described("Least in rebound.", [120.0, 900.0])]
    rebound_high_n: Annotated[Numbers, described("Most in rebound.", [240.0, 1260.0])]
    compression_n: Annotated[Numbers, described("Wanted in compression.", [80.0, 460.0])]
    compression_low_n: Annotated[Numbers, described("Least in compression.", [50.0, 380.0])]
    compression_high_n: Annotated[Numbers, described("Most in compression.", [110.0, 540.0])]
    basis: Annotated[str, described("Where the band comes from.", "target damping ratio 0.28")]


class VehicleRecord(Record):
    """The corner of the vehicle, and what the unit makes of it."""

    name: Annotated[str, described("What the vehicle is called.", "Pebble Saloon, rear (made up)")]
    critical_damping_n_s_m: Annotated[float, described("Critical damping of the body, at the wheel.", 5710.0)]
    body_frequency_hz: Annotated[float, described("Natural frequency of the body.", 1.26)]
    wheel_frequency_hz: Annotated[float, described("Natural frequency of the wheel.", 11.5)]
    static_deflection_mm: Annotated[
        float, described("How far the spring is bent at ride height, by its rate there.", 139.0)
    ]
    target_damping_ratio: Annotated[float | None, described("Damping ratio that is wanted.", 0.28)]
    ratios: tuple[RatioRecord, ...]
    need: BandRecord | None
    facts: tuple[FactRecord, ...] = ()
    ride: RideRecord | None = None
