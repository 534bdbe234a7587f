"""vehicle.toml: the corner of the vehicle that the unit is meant for, and whatever else of the car is known."""

from typing import Annotated, Literal, Self

from pydantic import Field, FiniteFloat, model_validator

from dampkit.bench.declared import Declared, NotNegative
from dampkit.bench.described import described, section
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
    """The vehicle."""

    name: Annotated[
        str, described("What it is called.", "Pebble Saloon, rear", "Write what the job's card says, and which axle.")
    ] = ""


class Corner(Declared):
    """One wheel of it. The wheel rate may come from [spring] instead, the motion ratio from [linkage]."""

    sprung_mass_kg: Annotated[Mass, described(
        "Mass of the body that this wheel carries, people and load as in use.", 340.0,
        "Weigh the wheel on a level scale, and take unsprung_mass_kg off.", usual=(30, 6000), odd="Of one wheel, in kilograms?")]  # fmt: skip
    unsprung_mass_kg: Annotated[Mass, described(
        "Mass that moves with the wheel: wheel, hub, brake, half of the arms; half of a beam axle.", 44.0,
        "Weigh wheel and hub off the car, and add half of what joins them to the body.", usual=(3, 900), odd="Of one wheel, in kilograms?")]  # fmt: skip
    wheel_rate_n_mm: Annotated[Rate | None, described(
        "Spring rate felt at the wheel.", 24.0,
        "Measure hub to arch, lay 50 kg on the car over the wheel, measure again: 490 N over the millimetres; the mean of loading and unloading.",
        usual=(2, 600), odd="In newtons a millimetre, at the wheel?", unless="spring")] = None  # fmt: skip
    tyre_rate_n_mm: Annotated[Rate, described(
        "Spring rate of the tyre.", 205.0, "Take it from tyre data; common practice is 150 to 250 for a car.", usual=(15, 2500),
        odd="In newtons a millimetre?")]  # fmt: skip
    damper_motion_ratio: Annotated[Ratio | None, described(
        "Damper travel per wheel travel.", 0.80, "Jack the wheel up by 20 mm, and see how much shorter the damper gets: that over 20.",
        usual=(0.15, 1.0), odd="0.8 or 1.25? Damper travel over wheel travel, which is seldom above 1.", unless="linkage")] = None  # fmt: skip


class Target(Declared):
    """What damping is wanted: a ratio, or the usual one of a use."""

    damping_ratio: Annotated[Annotated[FiniteFloat, Field(ge=0.01, le=2)] | None, described(
        "Damping over critical damping, of the body on its spring.", 0.28,
        "Take it from the maker, or leave it out and say the use.", usual=(0.1, 1.0), odd="As a share, not in percent?")] = None  # fmt: skip
    rebound_share: Annotated[Share | None, described(
        "Rebound force over the sum of both directions.", 0.70,
        "Take it from the specification: rebound / (rebound + compression).", usual=(0.35, 0.9))] = None  # fmt: skip
    use: Annotated[Use | None, described(
        "What it is driven for; in place of damping_ratio.", "road", "Ask the driver.")] = None  # fmt: skip

    @model_validator(mode="after")
    def _one_of_both(self) -> Self:
        if self.damping_ratio is not None and self.use is not None:
            raise ValueError("damping_ratio and use are both given; expected one of the two")
        return self

    @property
    def ratio(self) -> float | None:
        return USUAL_RATIO[self.use] if self.use is not None else self.damping_ratio


class LeaningDamper(Declared):
    """A damper that leans from the path of its lower end."""

    kind: Annotated[
        Literal["leaning"], described("What is between wheel and damper.", "leaning", "Look under the car.")
    ]
    mount_ratio: Annotated[Ratio, described(
        "Travel of the damper's lower end per wheel travel.", 0.9, "Jack the wheel up by 20 mm, and see how far the lower eye rises: that over 20.",
        usual=(0.3, 1.1))] = 1.0  # fmt: skip
    lean_deg: Annotated[Angle, described(
        "How far the damper leans from the path of its lower end.", 20.0, "Lay an angle gauge on the body, at ride height.")] = 0.0  # fmt: skip


class LeverArm(Declared):
    """A lever-arm damper and its drop link, angles at ride height."""

    kind: Annotated[
        Literal["lever-arm"], described("What is between wheel and damper.", "lever-arm", "Look under the car.")
    ]
    arm_mm: Annotated[Length, described(
        "Pivot to eye.", 160.0, "Measure from the middle of the shaft to the middle of the eye.", usual=(60, 400))]  # fmt: skip
    arm_angle_deg: Annotated[Angle, described(
        "Arm from level, positive with the eye above the shaft.", 0.0, "Lay an angle gauge on the arm, at ride height.")] = 0.0  # fmt: skip
    link_mm: Annotated[Length, described(
        "Length of the drop link.", 180.0, "Measure between the middles of its eyes.", usual=(30, 500))]  # fmt: skip
    link_lean_deg: Annotated[Angle, described(
        "Link from upright, positive with the lower end further from the shaft.", 0.0, "Lay an angle gauge on the link, at ride height.")] = 0.0  # fmt: skip
    pickup_ratio: Annotated[Ratio, described(
        "Travel of the link's lower end per wheel travel.", 1.0, "Jack the wheel up by 20 mm, and see how far the lower eye rises: that over 20.",
        usual=(0.3, 1.1))] = 1.0  # fmt: skip
    bench_arm_mm: Annotated[Length | None, described(
        "Pivot to where the bench pulled, if not at the eye.", 150.0, "Measure on the bench.", usual=(60, 400))] = None  # fmt: skip


LinkageSpec = Annotated[LeaningDamper | LeverArm, Field(discriminator="kind")]


class Stop(Declared):
    """A bump or rebound stop."""

    clearance_mm: Annotated[Annotated[FiniteFloat, Field(ge=0, le=1e4)], described(
        "Travel at the wheel from ride height until it touches.", 60.0, "Let the wheel move until the stop touches, and measure how far it went.",
        usual=(0, 400))]  # fmt: skip
    rate_n_mm: Annotated[Annotated[FiniteFloat, Field(gt=0, le=2e4)], described(
        "Its rate at the wheel.", 300.0, "Take it from data; rubber has some hundred, steel some thousand.", usual=(10, 10_000))]  # fmt: skip


class StopPair(Declared):
    """The stops at both ends of the travel."""

    compression: Annotated[Stop | None, section("The bump stop.")] = None
    extension: Annotated[Stop | None, section("The rebound stop.")] = None


class Axle(Declared):
    """Both wheels of this axle."""

    kind: Annotated[
        Literal["beam", "independent"],
        described("How the wheels are joined.", "beam", "Look under the car: one beam from wheel to wheel?"),
    ]
    track_mm: Annotated[Length, described(
        "Track.", 1300.0, "Measure between the middles of the tyres.", usual=(700, 2500))]  # fmt: skip
    spring_spacing_mm: Annotated[Length | None, described(
        "Between the springs of a beam.", 900.0, "Measure between the middles of the springs.", usual=(300, 2500))] = None  # fmt: skip
    damper_spacing_mm: Annotated[Length | None, described(
        "Between the dampers of a beam, at their lower eyes.", 950.0, "Measure between the lower eyes.", usual=(300, 2500))] = None  # fmt: skip
    roll_inertia_kg_m2: Annotated[Annotated[FiniteFloat, Field(ge=0.01, le=1e6)] | None, described(
        "Inertia of the beam with its wheels about the car's length axis.", 30.0, "Take it from data; leave it out where there are none.")] = None  # fmt: skip


class Car(Declared):
    """The whole car."""

    mass_kg: Annotated[Mass, described("Mass, as in use.", 1100.0, "Drive it onto a weighbridge.", usual=(150, 40_000))]
    wheelbase_mm: Annotated[Length, described("Wheelbase.", 2500.0, "Measure from hub to hub.", usual=(1200, 7000))]
    centre_height_mm: Annotated[Length, described(
        "Height of the centre of gravity.", 520.0, "Take it from data; a car has about 500 to 600.", usual=(250, 2000))]  # fmt: skip
    track_mm: Annotated[
        Length,
        described("Track, mean of both axles.", 1300.0, "Measure between the middles of the tyres.", usual=(700, 2500)),
    ]
    front_share: Annotated[Share, described(
        "Share of the mass on the front axle.", 0.55, "Weigh the front axle, and divide by the whole.", usual=(0.3, 0.7))]  # fmt: skip
    this_axle: Annotated[
        Literal["front", "rear"], described("Which end the corner is from.", "front", "See where the unit came from.")
    ]
    other_wheel_rate_n_mm: Annotated[Rate, described(
        "Wheel rate at the other end.", 24.0, "As wheel_rate_n_mm of [corner], on the other axle.", usual=(2, 600))]  # fmt: skip
    pitch_radius_mm: Annotated[Length | None, described(
        "Radius of gyration in pitch.", 1200.0, "Take it from data; leave it out where there are none.", usual=(300, 4000))] = None  # fmt: skip
    roll_radius_mm: Annotated[Length | None, described(
        "Radius of gyration in roll.", 550.0, "Take it from data; leave it out where there are none.", usual=(150, 2000))] = None  # fmt: skip
    braking_g: Annotated[InG, described(
        "Hard braking, in multiples of standard gravity.", 0.7, "Leave it at 0.7 for an ordinary road and tyre.", usual=(0.2, 1.5))] = 0.7  # fmt: skip
    driving_g: Annotated[InG, described(
        "Hard driving off, in multiples of standard gravity.", 0.3, "Leave it at 0.3 for an ordinary car.", usual=(0.05, 1.2))] = 0.3  # fmt: skip
    cornering_g: Annotated[InG, described(
        "Hard cornering, in multiples of standard gravity.", 0.6, "Leave it at 0.6 for an ordinary road and tyre.", usual=(0.2, 1.8))] = 0.6  # fmt: skip


class RoadSpec(Declared):
    """The road that the ride is worked out for; a fair main road unless told otherwise."""

    road_class: Annotated[Literal["A", "B", "C", "D", "E"], described(
        "Class of roughness by ISO 8608, A the smoothest.", "B", "A motorway is A, a good main road B, a patched lane C, a track D or E.")] = "B"  # fmt: skip
    speed_km_h: Annotated[Annotated[FiniteFloat, Field(ge=10, le=200)], described(
        "Speed on it.", 72.0, "Take the speed that it is usually driven at.")] = 72.0  # fmt: skip


class Friction(Declared):
    """A friction damper: discs squeezed together at the joint of two arms."""

    outer_diameter_mm: Annotated[
        Length,
        described("Outer diameter of the rubbing face.", 80.0, "Measure the disc with a caliper.", usual=(30, 250)),
    ]
    inner_diameter_mm: Annotated[
        NotNegative,
        described("Inner diameter of the rubbing face.", 30.0, "Measure the hole with a caliper.", usual=(0, 150)),
    ]
    faces: Annotated[Annotated[int, Field(ge=1, le=20)], described(
        "Rubbing faces: two for each disc between two plates.", 4, "Count them in the pack.", unit="1")]  # fmt: skip
    friction_coefficient: Annotated[Annotated[FiniteFloat, Field(ge=0.01, le=1)], described(
        "Friction coefficient of the discs.", 0.3, "Take it from the lining's data.", usual=(0.08, 0.6))]  # fmt: skip
    arm_mm: Annotated[
        Length,
        described(
            "Length of the arms, joint to eye.", 200.0, "Measure between the middles of joint and eye.", usual=(60, 500)
        ),
    ]
    amplitude_mm: Annotated[Annotated[FiniteFloat, Field(ge=0.1, le=1e3)], described(
        "Swing of the body at the wheel for which the clamp force is wanted.", 20.0, "Take half of the travel over a usual bump.", usual=(2, 150))]  # fmt: skip

    @model_validator(mode="after")
    def _inside(self) -> Self:
        if self.inner_diameter_mm >= self.outer_diameter_mm:
            raise ValueError("inner_diameter_mm is not below outer_diameter_mm; expected a ring")
        return self


class VehicleSpec(Declared):
    """The corner of the vehicle that the unit is meant for, and whatever else of it is known."""

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
    def _one_of_each(self) -> Self:
        pairs = (
            ("wheel_rate_n_mm", self.corner.wheel_rate_n_mm, "[spring]", self.spring),
            ("damper_motion_ratio", self.corner.damper_motion_ratio, "[linkage]", self.linkage),
        )
        wrong = [
            f"[corner] {key} and {named} are both {'missing' if table is None else 'given'}"
            for key, value, named, table in pairs
            if (value is None) == (table is None)
        ]
        if wrong:
            raise ValueError(f"{', '.join(wrong)}; expected exactly one of the two")
        return self
