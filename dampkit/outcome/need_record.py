"""The part of the result that says what the vehicle needs, what it gets, and the ride that a unit gives it."""

from typing import Annotated

from dampkit.bench.described import described
from dampkit.outcome.record import AS_UNIT_SAYS, AtLeastZero, Columns, EstimateRecord, Numbers, Record, example_of

ACCELERATION = "Weighted vertical acceleration of the body, r.m.s."
VARIATION = "Tyre load, r.m.s. of its swing over standing load."


class FactRecord(Record):
    """One figure worked out from the vehicle file."""

    group: Annotated[str, described("What it belongs to.", "Spring")]
    what: Annotated[str, described("What it is.", "Friction at the wheel")]
    value: Annotated[float, described("The figure.", 134.0, unit=AS_UNIT_SAYS)]
    unit: Annotated[str, described("Its unit; empty for a plain number.", "N")]
    basis: Annotated[str, described("Where it comes from.", "leaf, from its sizes")]


class RideCaseRecord(Record):
    """One damper in the corner, on the road and over a kerb and a bump."""

    name: Annotated[str, described("Which damper.", "this unit")]
    weighted_acceleration_m_s2: Annotated[float, described(ACCELERATION, 0.62)]
    felt: Annotated[str, described("How that is felt, by ISO 2631-1.", "fairly uncomfortable")]
    tyre_load_variation: Annotated[float, described(VARIATION, 0.14)]
    light_load_share: Annotated[float, described("Share of the time with low tyre load.", 0.01)]
    travel_rms_mm: Annotated[float, described("Suspension travel, r.m.s.", 8.0)]
    compression_used_mm: Annotated[float, described("Most travel in compression.", 26.0)]
    extension_used_mm: Annotated[float, described("Most travel in extension.", 27.0)]
    kerb_acceleration_m_s2: Annotated[float, described("Highest acceleration of the body over the kerb.", 4.1)]
    kerb_compression_mm: Annotated[float, described("Most compression over the kerb.", 44.0)]
    kerb_swings: Annotated[float, described("Swings of the body until it is still.", 1.5)]
    bump_acceleration_m_s2: Annotated[float, described("Highest acceleration of the body over the bump.", 5.2)]
    bump_compression_mm: Annotated[float, described("Most compression over the bump.", 39.0)]
    bump_least_load: Annotated[float, described("Least tyre load over standing load, over the bump.", 0.2, unit="1")]
    stop_met: Annotated[bool | None, described("Whether a stop was met; null where none is declared.", False)]
    push_swings: Annotated[float, described("Swings after a push-down by hand.", 1.0)]


class ChoiceRecord(Record):
    """The unit with other springs and made softer or firmer; one entry a combination, shares of what it has now."""

    wheel_rate_share: Annotated[Numbers, described("Wheel rate over the present one.", [0.8, 1.0, 1.2])]
    force_share: Annotated[Numbers, described("Damper force over the present one.", [1.0, 1.0, 1.0])]
    weighted_acceleration_m_s2: Annotated[Numbers, described(ACCELERATION, [0.57, 0.62, 0.68])]
    tyre_load_variation: Annotated[Numbers, described(VARIATION, [0.13, 0.14, 0.15])]


class RoadRecord(Record):
    """The unit on another road."""

    road_class: Annotated[str, described("Class of roughness by ISO 8608.", "C")]
    speed_m_s: Annotated[float, described("Speed on it.", 16.7)]
    weighted_acceleration_m_s2: Annotated[float, described(ACCELERATION, 1.1)]
    tyre_load_variation: Annotated[float, described(VARIATION, 0.25)]
    light_load_share: Annotated[float, described("Share of the time with low tyre load.", 0.06)]


class RideRecord(Record):
    """The ride on one road, this unit first."""

    road_class: Annotated[str, described("Class of roughness by ISO 8608.", "B")]
    speed_m_s: Annotated[float, described("Speed on it.", 20.0)]
    cases: tuple[RideCaseRecord, ...]
    fastest_damper_m_s: Annotated[float, described("Highest speed of the damper on it.", 0.42)]
    within_test: Annotated[bool, described("False where the road is faster than the stages run.", True)]
    choice: ChoiceRecord
    roads: tuple[RoadRecord, ...]
    push_down: Annotated[
        str, described("What a push-down by hand can show here.", "A push-down check can show a dead damper here.")
    ]
    basis: Annotated[str, described("What the ride is worked out with.", "Two masses, straight spring and tyre.")]


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
