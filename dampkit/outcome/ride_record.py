"""Records of what a vehicle file says and of the ride that a unit gives."""

from __future__ import annotations

from dampkit.outcome.record import Record


class FactRecord(Record):
    """One figure worked out from the vehicle file; `unit` is empty for a plain number."""

    group: str
    what: str
    value: float
    unit: str
    basis: str


class RideCaseRecord(Record):
    """One damper in the corner. Loads and their variation are over standing load; a stop is None where none is declared."""

    name: str
    weighted_acceleration_m_s2: float
    felt: str
    tyre_load_variation: float
    light_load_share: float
    travel_rms_mm: float
    compression_used_mm: float
    extension_used_mm: float
    kerb_acceleration_m_s2: float
    kerb_compression_mm: float
    kerb_swings: float
    bump_acceleration_m_s2: float
    bump_compression_mm: float
    bump_least_load: float
    stop_met: bool | None
    push_swings: float


class ChoiceRecord(Record):
    """The unit with other springs and made softer or firmer; one entry a combination, shares of what it has now."""

    wheel_rate_share: tuple[float, ...]
    force_share: tuple[float, ...]
    weighted_acceleration_m_s2: tuple[float, ...]
    tyre_load_variation: tuple[float, ...]


class RoadRecord(Record):
    road_class: str
    speed_m_s: float
    weighted_acceleration_m_s2: float
    tyre_load_variation: float
    light_load_share: float


class RideRecord(Record):
    """The ride on one road, this unit first; `within_test` is False where the road is faster than the stages run."""

    road_class: str
    speed_m_s: float
    cases: tuple[RideCaseRecord, ...]
    fastest_damper_m_s: float
    within_test: bool
    choice: ChoiceRecord
    roads: tuple[RoadRecord, ...]
    push_down: str
    basis: str
