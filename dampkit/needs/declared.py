"""vehicle.toml: the corner of the vehicle that the unit is meant for."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field, FiniteFloat

from dampkit.bench.declared import Declared, Positive


class Vehicle(Declared):
    name: str = ""


class Corner(Declared):
    sprung_mass_kg: Positive
    unsprung_mass_kg: Positive
    wheel_rate_n_mm: Positive
    tyre_rate_n_mm: Positive
    damper_motion_ratio: Annotated[FiniteFloat, Field(gt=0, le=5)]  # damper travel per wheel travel


class Target(Declared):
    damping_ratio: Annotated[FiniteFloat, Field(gt=0, le=2)] | None = None
    rebound_share: Annotated[FiniteFloat, Field(gt=0, lt=1)] | None = None  # rebound force / (rebound + compression)


class VehicleSpec(Declared):
    vehicle: Vehicle = Vehicle()
    corner: Corner
    target: Target = Target()
