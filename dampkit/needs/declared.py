"""vehicle.toml: the corner of the vehicle that the unit is meant for, and whatever else of the car is known."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field, FiniteFloat, model_validator

from dampkit.bench.declared import Declared, NotNegative
from dampkit.needs.springs.declared import SpringSpec

Share = Annotated[FiniteFloat, Field(gt=0, lt=1)]
Ratio = Annotated[FiniteFloat, Field(gt=0, le=5)]
Angle = Annotated[FiniteFloat, Field(gt=-80, lt=80)]
Mass = Annotated[FiniteFloat, Field(ge=1, le=1e5)]  # kg; wider than any vehicle, so that sums stay sane
Rate = Annotated[FiniteFloat, Field(ge=1e-3, le=1e5)]  # N/mm
Length = Annotated[FiniteFloat, Field(ge=1, le=5e4)]  # mm
InG = Annotated[FiniteFloat, Field(gt=0, le=5)]
Use = Literal["comfort", "road", "sport", "race"]
USUAL_RATIO: dict[Use, float] = {
    "comfort": 0.25,
    "road": 0.30,
    "sport": 0.42,
    "race": 0.65,
}  # common practice, no source


class Vehicle(Declared):
    name: str = ""


class Corner(Declared):
    """The wheel rate may come from [spring] instead, the motion ratio from [linkage]."""

    sprung_mass_kg: Mass
    unsprung_mass_kg: Mass
    wheel_rate_n_mm: Rate | None = None
    tyre_rate_n_mm: Rate
    damper_motion_ratio: Ratio | None = None  # damper travel per wheel travel


class Target(Declared):
    """A damping ratio, or the usual one of a use."""

    damping_ratio: Annotated[FiniteFloat, Field(ge=0.01, le=2)] | None = None
    rebound_share: Share | None = None  # rebound force / (rebound + compression)
    use: Use | None = None

    @model_validator(mode="after")
    def _one_of_both(self) -> Target:
        if self.damping_ratio is not None and self.use is not None:
            raise ValueError("damping_ratio and use are both given; expected one of the two")
        return self

    @property
    def ratio(self) -> float | None:
        return USUAL_RATIO[self.use] if self.use is not None else self.damping_ratio


class LeaningDamper(Declared):
    """A damper that leans from the path of its lower end, which moves mount_ratio times as far as the wheel."""

    kind: Literal["leaning"]
    mount_ratio: Ratio = 1.0
    lean_deg: Angle = 0.0


class LeverArm(Declared):
    """A lever-arm damper and its drop link, angles at ride height; the bench's arm where it pulled elsewhere."""

    kind: Literal["lever-arm"]
    arm_mm: Length
    arm_angle_deg: Angle = 0.0  # from level, positive with the eye above the shaft
    link_mm: Length
    link_lean_deg: Angle = 0.0  # from upright, positive with the lower end further from the shaft
    pickup_ratio: Ratio = 1.0  # travel of the link's lower end per wheel travel
    bench_arm_mm: Length | None = None


LinkageSpec = Annotated[LeaningDamper | LeverArm, Field(discriminator="kind")]


class Stop(Declared):
    clearance_mm: Annotated[FiniteFloat, Field(ge=0, le=1e4)]  # travel at the wheel before it touches, from ride height
    rate_n_mm: Annotated[FiniteFloat, Field(gt=0, le=2e4)]  # at the wheel; rubber has some hundred, steel some thousand


class StopPair(Declared):
    compression: Stop | None = None
    extension: Stop | None = None


class Axle(Declared):
    """Both wheels of this axle. With an inertia, of the beam with its wheels about the car's length axis."""

    kind: Literal["beam", "independent"]
    track_mm: Length
    spring_spacing_mm: Length | None = None
    damper_spacing_mm: Length | None = None
    roll_inertia_kg_m2: Annotated[FiniteFloat, Field(ge=0.01, le=1e6)] | None = None


class Car(Declared):
    """The whole car; `this_axle` says which end the corner is from, `other_wheel_rate_n_mm` is of the other end."""

    mass_kg: Mass
    wheelbase_mm: Length
    centre_height_mm: Length
    track_mm: Length
    front_share: Share
    this_axle: Literal["front", "rear"]
    other_wheel_rate_n_mm: Rate
    pitch_radius_mm: Length | None = None
    roll_radius_mm: Length | None = None
    braking_g: InG = 0.7
    driving_g: InG = 0.3
    cornering_g: InG = 0.6


class RoadSpec(Declared):
    """The road that the ride is worked out for; a fair main road unless told otherwise."""

    road_class: Literal["A", "B", "C", "D", "E"] = "B"
    speed_km_h: Annotated[FiniteFloat, Field(ge=10, le=200)] = 72.0


class Friction(Declared):
    """A friction damper: discs squeezed together at the joint of two arms."""

    outer_diameter_mm: Length
    inner_diameter_mm: NotNegative
    faces: Annotated[int, Field(ge=1, le=20)]
    friction_coefficient: Annotated[FiniteFloat, Field(ge=0.01, le=1)]
    arm_mm: Length
    amplitude_mm: Annotated[
        FiniteFloat, Field(ge=0.1, le=1e3)
    ]  # swing of the body at the wheel for which the clamp force is wanted

    @model_validator(mode="after")
    def _inside(self) -> Friction:
        if self.inner_diameter_mm >= self.outer_diameter_mm:
            raise ValueError("inner_diameter_mm is not below outer_diameter_mm; expected a ring")
        return self


class VehicleSpec(Declared):
    vehicle: Vehicle = Vehicle()
    corner: Corner
    target: Target = Target()
    spring: SpringSpec | None = None
    linkage: LinkageSpec | None = None
    stops: StopPair = StopPair()
    axle: Axle | None = None
    car: Car | None = None
    road: RoadSpec = RoadSpec()
    friction_damper: Friction | None = None

    @model_validator(mode="after")
    def _one_of_each(self) -> VehicleSpec:
        pairs = (
            ("wheel_rate_n_mm", self.corner.wheel_rate_n_mm, "[spring]", self.spring),
            ("damper_motion_ratio", self.corner.damper_motion_ratio, "[linkage]", self.linkage),
        )
        for key, value, section, table in pairs:
            if (value is None) == (table is None):
                said = "are both given" if table is not None else "are both missing"
                raise ValueError(f"[corner] {key} and {section} {said}; expected exactly one of the two")
        return self
