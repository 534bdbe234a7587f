"""The car's part of a page: its own figures, the force it needs, the ride that a unit gives it; and a page of the car alone."""

from __future__ import annotations

import re
from dataclasses import replace
from itertools import groupby
from typing import Any

import numpy as np

from dampkit.errors import visible
from dampkit.expected.window import USUAL_SPEEDS_M_S
from dampkit.needs.requirement import RATED_SPEED_M_S
from dampkit.outcome.need_record import BandRecord, RideRecord, VehicleRecord
from dampkit.outcome.vehicle_record import NeedResult
from dampkit.report.document import ALONE, Look, page_text
from dampkit.report.numbers import Writer, brief
from dampkit.report.picture import Area, Axis, Dash, Layer, Line, Picture, Points, Word
from dampkit.report.pictures import FORCE_AXIS, SIGNS, SPEED_AXIS
from dampkit.report.plain import LONGEST_NAME, shortened
from dampkit.report.tables import Table, need_table
from dampkit.sources import citation

CHOICE_DASHES: tuple[Dash, ...] = ("dot", "solid", "dash")


def car_view(vehicle: VehicleRecord | None, writer: Writer) -> dict[str, Any]:
    """What the templates of the car print; empty where there is nothing."""
    ride = None if vehicle is None else vehicle.ride
    return {
        "fact_tables": () if vehicle is None else facts_tables(vehicle, writer),
        "ride_table": ride and ride_table(ride, writer),
        "roads_table": ride and roads_table(ride, writer),
        "ride_words": ride and ride_words(ride, writer),
        "ride_basis": sentences(ride.basis) if ride else (),
        "need_basis": sentences(vehicle.need.basis) if vehicle is not None and vehicle.need is not None else (),
    }


def car_pictures(vehicle: VehicleRecord | None) -> list[Picture]:
    return [choice_picture(vehicle.ride)] if vehicle is not None and vehicle.ride is not None else []


def facts_tables(vehicle: VehicleRecord, writer: Writer) -> tuple[Table, ...]:
    """One table for each group, in the order worked out."""
    return tuple(
        Table(
            group,
            ("What", "Value", "Basis and limits"),
            tuple((fact.what, writer.value(fact.value, fact.unit), fact.basis) for fact in found),
            prose=True,
        )
        for group, found in groupby(vehicle.facts, key=lambda fact: fact.group)
    )


def ride_table(ride: RideRecord, writer: Writer) -> Table:
    """Cases side by side, a figure a row."""
    rows: list[tuple[str, ...]] = []
    for name, key, unit, factor in (
        ("Weighted body acceleration", "weighted_acceleration_m_s2", "m/s²", 1.0),
        ("Tyre-load variation, of standing load", "tyre_load_variation", "%", 100.0),
        ("Time at low tyre load", "light_load_share", "%", 100.0),
        ("Compression used on the road", "compression_used_mm", "mm", 1.0),
        ("Kerb: highest body acceleration", "kerb_acceleration_m_s2", "m/s²", 1.0),
        ("Kerb: compression used", "kerb_compression_mm", "mm", 1.0),
        ("Kerb: swings until still", "kerb_swings", "", 1.0),
        ("Bump: highest body acceleration", "bump_acceleration_m_s2", "m/s²", 1.0),
        ("Bump: lowest tyre load, of standing load", "bump_least_load", "%", 100.0),
        ("Pushed down by hand: swings until still", "push_swings", "", 1.0),
    ):
        rows.append((name, *(writer.given(factor * getattr(case, key), unit) for case in ride.cases)))
    rows.insert(1, ("Felt as", *(case.felt for case in ride.cases)))
    stops = {None: "no stop declared", True: "met", False: "not met"}
    rows.append(("Rubber stops", *(stops[case.stop_met] for case in ride.cases)))
    return Table("The ride, worked out", ("What", *(case.name for case in ride.cases)), tuple(rows), prose=True)


def roads_table(ride: RideRecord, writer: Writer) -> Table:
    """This unit on every class of road at several speeds: weighted acceleration, and time at low tyre load where any."""
    speeds = tuple(dict.fromkeys(road.speed_m_s for road in ride.roads))
    rows = []
    for road_class, found in groupby(ride.roads, key=lambda road: road.road_class):
        cells = []
        for road in found:
            light = f"; low load {100 * road.light_load_share:.1f} % of the time" if road.light_load_share > 0 else ""
            cells.append(writer.given(road.weighted_acceleration_m_s2, "m/s²", 2) + light)
        rows.append((f"Class {road_class}", *cells))
    head = ("Road", *(f"{3.6 * speed:.0f} km/h" for speed in speeds))
    return Table("This unit on other roads: weighted body acceleration", head, tuple(rows), prose=True)


def ride_words(ride: RideRecord, writer: Writer) -> list[str]:
    fastest = writer.given(ride.fastest_damper_m_s, "m/s", 2)
    covered = (
        f"The road moves the damper at up to {fastest}, within the speeds tested."
        if ride.within_test
        else f"The road moves the damper at up to {fastest}, faster than it was tested: beyond the test the curve's last "
        "slope was taken to go on."
    )
    return [ride.push_down, covered, "It compares dampers in one corner of the car; it is not what a seat would feel."]


def sentences(text: str) -> list[str]:
    """One by one, as a page cuts what is too long for one piece."""
    return re.split(r"(?<=\.) (?=[A-Z])", text)


def choice_picture(ride: RideRecord) -> Picture:
    """Comfort against grip: this unit softer and firmer, on softer and stiffer springs. Lower is better on both axes."""
    choice = ride.choice
    rates = np.array(choice.wheel_rate_share)
    comfort, grip = np.array(choice.weighted_acceleration_m_s2), 100 * np.array(choice.tyre_load_variation)
    shares = sorted(set(choice.force_share))
    layers: list[Layer] = []
    for share, dash in zip(sorted(set(choice.wheel_rate_share)), CHOICE_DASHES, strict=False):
        of = rates == share
        name = (
            f"spring at {100 * share:.0f} %, damper force from {100 * shares[0]:.0f} to {100 * shares[-1]:.0f} % of now"
        )
        layers.append(Line(name, comfort[of], grip[of], "curve", dash))
    marks = zip(ride.cases, ("ink", "need", "reference"), ("circle", "square", "diamond"), strict=False)
    for case, ink, marker in marks:
        x, y = np.array([case.weighted_acceleration_m_s2]), np.array([100 * case.tyre_load_variation])
        layers.append(Points(case.name, x, y, ink, marker, size=5.0))  # type: ignore[arg-type]
    alt = " ".join(
        f"{case.name.capitalize()}: {brief(case.weighted_acceleration_m_s2)} m/s² and "
        f"{brief(100 * case.tyre_load_variation)} %."
        for case in ride.cases
    )
    axes = (
        Axis("Weighted body acceleration", "m/s²", ": less is kinder"),
        Axis("Tyre-load variation", "%", ": less grips better"),
    )
    return Picture("choice", "Comfort against grip", alt, *axes, tuple(layers), near=True)


def need_picture(need: BandRecord, writer: Writer) -> Picture:
    """The band alone, for a page without a unit."""
    v = np.array(need.velocity_m_s)
    layers: list[Layer] = []
    for way, sign in SIGNS.items():
        low, middle, high = (sign * np.array(getattr(need, f"{way}_{end}")) for end in ("low_n", "n", "high_n"))
        layers.append(Area("what the vehicle needs", v, low, high, "need", hatched=True))
        layers.append(Line("middle of the band", v, middle, "need"))
    top, bottom = max(need.rebound_high_n), max(need.compression_high_n)
    words = (Word("rebound", 0.02, 0.93 * top), Word("compression", 0.02, -0.93 * bottom))
    at = {way: float(np.interp(RATED_SPEED_M_S, v, getattr(need, f"{way}_n"))) for way in SIGNS}
    said = ", ".join(f"{way} {writer.drawn(force, 'N')}" for way, force in at.items())
    alt = f"At {writer.drawn(RATED_SPEED_M_S, 'm/s')} {said}."
    return Picture("need", "Force needed at the damper", alt, SPEED_AXIS, FORCE_AXIS, tuple(layers), words)


def render_need(result: NeedResult, look: Look = ALONE) -> str:
    """What a vehicle needs as a page of its own, without any unit, as HTML text; opens offline and holds no script."""
    vehicle, need = result.vehicle, result.vehicle.need
    view = {
        "name": shortened(visible(vehicle.name or "a vehicle without a name"), LONGEST_NAME),
        "need_table": need_table(vehicle, USUAL_SPEEDS_M_S, look.writer),
        "remarks": [entry.message for entry in result.quality],
        "sources": [citation(key) for key in result.sources],
        "version": result.version,
        **car_view(vehicle, look.writer),
    }
    return page_text(
        "need.html", replace(look, library=""), [None if need is None else need_picture(need, look.writer)], view
    )
