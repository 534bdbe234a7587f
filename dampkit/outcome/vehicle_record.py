"""What the vehicle needs and the ride it gets, as part of a record."""

from collections.abc import Sequence
from typing import Annotated, Any, Literal

import numpy as np

import dampkit
from dampkit.bench.described import described
from dampkit.bench.run import Quality
from dampkit.needs.corner import Corner
from dampkit.needs.ratio import StageRatio
from dampkit.needs.ride import EVENT_S, LIGHT_SHARE, PUSH_M
from dampkit.needs.ride_check import FORCE_SHARES, OTHER_ROADS, RATE_SHARES, WORN_SHARE, RideCheck
from dampkit.needs.vehicle_needs import VehicleNeeds
from dampkit.needs.weighting import felt_as
from dampkit.outcome.measured_record import QualityRecord
from dampkit.outcome.need_record import ChoiceRecord, RatioRecord, RideCaseRecord, RideRecord, RoadRecord, VehicleRecord
from dampkit.outcome.record import Record
from dampkit.outcome.records import quality_records
from dampkit.outcome.shown import Shown

KERB, BUMP = "a kerb 50 mm high at 18 km/h", "a bump 50 mm high and 0.5 m long at 29 km/h"

NEED_SOURCES = (
    "rao",
    "barton2018",
    "dixon2007",
    "gillespie1992",
    "reimpell",
    "shigley",
    "khurmi",
    "iso8608",
    "jaso_c602",
)


def vehicle_record(suited: VehicleNeeds) -> VehicleRecord:
    corner = suited.corner
    return VehicleRecord(
        name=corner.name,
        critical_damping_n_s_m=corner.critical_damping_n_s_m,
        body_frequency_hz=suited.modes.body_frequency_hz,
        wheel_frequency_hz=suited.modes.wheel_frequency_hz,
        static_deflection_mm=1e3 * corner.static_deflection_m,
        target_damping_ratio=corner.target_ratio,
        ratios=tuple(_ratio(r, corner) for r in suited.ratios),
        need=suited.need,
        facts=suited.facts,
        ride=None if suited.ride is None else _ride(suited.ride),
    )


def _ratio(r: StageRatio, corner: Corner) -> RatioRecord:
    modes = corner.modes(corner.at_wheel(r.equivalent_damping_n_s_m.value))
    return RatioRecord.of(r, body_ratio=modes.body_ratio, wheel_ratio=modes.wheel_ratio)


def _ride(ride: RideCheck) -> RideRecord:
    return RideRecord(
        road_class=ride.on.road_class,
        speed_m_s=ride.on.speed_m_s,
        cases=tuple(_case(ride, i) for i in range(len(ride.names))),
        fastest_damper_m_s=ride.fastest_damper_m_s,
        within_test=ride.within_test,
        choice=ChoiceRecord(
            wheel_rate_share=tuple(float(x) for x in np.repeat(RATE_SHARES, len(FORCE_SHARES))),
            force_share=FORCE_SHARES * len(RATE_SHARES),
            weighted_acceleration_m_s2=ride.choice.weighted_acceleration_m_s2,
            tyre_load_variation=ride.choice.tyre_load_variation_ratio,
        ),
        roads=tuple(
            RoadRecord.of(
                road,
                weighted_acceleration_m_s2=float(ride.roads.weighted_acceleration_m_s2[i]),
                tyre_load_variation=float(ride.roads.tyre_load_variation_ratio[i]),
                light_load_share=float(ride.roads.light_load_ratio[i]),
            )
            for i, road in enumerate(OTHER_ROADS)
        ),
        push_down=_push_down(ride),
        basis=_basis(ride),
    )


def _case(ride: RideCheck, i: int) -> RideCaseRecord:
    weighted = float(ride.road.weighted_acceleration_m_s2[i])
    return RideCaseRecord(
        name=ride.names[i],
        weighted_acceleration_m_s2=weighted,
        felt=felt_as(weighted),
        tyre_load_variation=float(ride.road.tyre_load_variation_ratio[i]),
        light_load_share=float(ride.road.light_load_ratio[i]),
        travel_rms_mm=1e3 * float(ride.road.travel_rms_m[i]),
        compression_used_mm=1e3 * float(ride.road.compression_used_m[i]),
        extension_used_mm=1e3 * float(ride.road.extension_used_m[i]),
        kerb_acceleration_m_s2=float(ride.kerb.peak_acceleration_m_s2[i]),
        kerb_compression_mm=1e3 * float(ride.kerb.compression_used_m[i]),
        kerb_swings=float(ride.kerb.swings_until_still_count[i]),
        bump_acceleration_m_s2=float(ride.bump.peak_acceleration_m_s2[i]),
        bump_compression_mm=1e3 * float(ride.bump.compression_used_m[i]),
        bump_least_load=float(ride.bump.least_load_ratio[i]),
        stop_met=_stop_met(ride, i),
        push_swings=float(ride.push_swings_count[i]),
    )


def _stop_met(ride: RideCheck, i: int) -> bool | None:
    """None where no stop was declared."""
    if ride.stops is None:
        return None
    used = (ride.road, ride.kerb, ride.bump)
    inner = max(float(part.compression_used_m[i]) for part in used)
    outer = max(float(part.extension_used_m[i]) for part in used)
    return inner > ride.stops.compression_m or outer > ride.stops.extension_m


def _push_down(ride: RideCheck) -> str:
    unit, dead = float(ride.push_swings_count[0]), ride.dead_swings_count
    said = f"Pushed down {1e3 * PUSH_M:.0f} mm by hand and let go, the body makes {unit:g} swing{'' if unit == 1 else 's'} with this unit"
    if dead - unit < 1:
        return (
            f"{said} and {dead:g} with none at all: the spring's own friction stills it, so a push-down check "
            "cannot tell a dead damper here."
        )
    return f"{said} and {dead:g} or more with none at all within {EVENT_S:g} s: a push-down check can show a dead damper here."


def _basis(ride: RideCheck) -> str:
    play = f" Lost motion acts as {1e3 * ride.play_m:.1f} mm of play at the wheel." if ride.play_m > 0 else ""
    return (
        f"Two masses, straight spring and tyre, the fitted curve with its friction; random road of class "
        f"{ride.on.road_class} (ISO 8608) at {3.6 * ride.on.speed_m_s:.0f} km/h, weighting Wk of ISO 2631-1, {KERB}, {BUMP}. "
        f"The worn unit has {WORN_SHARE:g} of this one's force at every speed. Low tyre load is below {LIGHT_SHARE:.0%} of "
        f"standing load.{play} It compares dampers in one corner; it is not what a seat would feel."
    )


class NeedResult(Shown, Record):
    """What a vehicle file alone gives; `vehicle.ratios` is empty and `vehicle.ride` None, as there is no unit.

    Examples
    --------
    >>> found = dampkit.need("sample_runs/sound_twin_tube.vehicle.toml")
    >>> found.vehicle.ratios
    ()
    """

    format: Annotated[Literal["dampkit-need/1"], described("Form of this record.", "dampkit-need/1")] = "dampkit-need/1"
    version: Annotated[str, described("Version of dampkit that made it.", "0.1.0")]
    vehicle: VehicleRecord
    quality: tuple[QualityRecord, ...] = ()
    left_out: Annotated[tuple[str, ...], described("What was left out, and why.", ["No unit was tested."])]
    sources: Annotated[tuple[str, ...], described("Keys of the published sources used.", ["dixon2007"])]

    def to_dict(self) -> dict[str, Any]:
        """As `dampkit need --json` writes it."""
        plain: dict[str, Any] = self.model_dump(mode="json")
        return plain


def need_result(suited: VehicleNeeds, remarks: Sequence[Quality] = ()) -> NeedResult:
    left_out = ["No unit was tested, so there are no damping ratios and no ride."]
    if suited.need is None:
        left_out.append("The vehicle has no target damping ratio, so there is no band that it needs.")
    return NeedResult(
        version=dampkit.__version__,
        vehicle=vehicle_record(suited),
        quality=quality_records(remarks),
        left_out=tuple(left_out),
        sources=NEED_SOURCES,
    )
