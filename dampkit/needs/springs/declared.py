"""The [spring] table of a vehicle file: what the wheel rate is worked out from where it was not measured."""

import math
from typing import Annotated, Literal, Self

from pydantic import Field, FiniteFloat, model_validator

from dampkit.bench.declared import Declared, NotNegative, Positive
from dampkit.bench.described import described
from dampkit.needs.springs.leaf import STEEL_PA, Clamp, HelperSpring, LeafSpring
from dampkit.needs.springs.twisted import STEEL_SHEAR_PA, CoilSpring, TorsionBar, lever_rate_n_m

MM_PER_M = 1e3
Count = Annotated[int, Field(ge=0, le=40)]
MotionRatio = Annotated[Annotated[FiniteFloat, Field(gt=0, le=5)], described(
    "Spring travel per wheel travel.", 0.8, "Jack the wheel up by 20 mm, and see how much shorter the spring gets: that over 20.",
    usual=(0.15, 1.0), odd="0.8 or 1.25? Spring travel over wheel travel, which is seldom above 1.")]  # fmt: skip
LOOK = "Look under the car."


class Leaf(Declared):
    """A semi-elliptic leaf spring under the axle; the helper leaves are optional."""

    kind: Annotated[Literal["leaf"], described("What spring it is.", "leaf", LOOK)]
    span_mm: Annotated[
        Positive,
        described("Eye to eye.", 1200.0, "Measure between the middles of the eyes, under load.", usual=(400, 2500)),
    ]
    width_mm: Annotated[
        Positive, described("Width of the leaves.", 50.0, "Measure a leaf with a caliper.", usual=(25, 150))
    ]
    thickness_mm: Annotated[
        Positive, described("Thickness of a leaf.", 6.5, "Measure a leaf with a caliper.", usual=(3, 25))
    ]
    full_length_leaves: Annotated[
        Annotated[int, Field(ge=1, le=40)], described("Leaves as long as the spring.", 1, "Count them.", unit="1")
    ]
    graduated_leaves: Annotated[Count, described("Leaves that are shorter.", 5, "Count them.", unit="1")] = 0
    clamp_length_mm: Annotated[NotNegative, described(
        "Length held fast on the axle.", 100.0, "Measure between the outer U-bolts.", usual=(0, 300))] = 0.0  # fmt: skip
    clamp: Annotated[Clamp, described("What holds it there.", "band", LOOK)] = "band"
    modulus_gpa: Annotated[Positive, described(
        "Young's modulus of the leaves.", 206.0, "Leave it for steel.", usual=(20, 215))] = STEEL_PA / 1e9  # fmt: skip
    free_camber_mm: Annotated[FiniteFloat, described(
        "Height of the bow without load.", 140.0, "Lay a straight edge over the eyes of the loose spring, and measure down.", usual=(-100, 400))] = 0.0  # fmt: skip
    shackle_tangent: Annotated[Annotated[FiniteFloat, Field(ge=-2, le=2)], described(
        "Sideways over downward force at the eye: positive where the shackle pulls the eyes apart.", 0.2,
        "Measure how far the shackle's ends stand apart lengthwise, over how far upwards.", unit="1")] = 0.0  # fmt: skip
    friction_coefficient: Annotated[Annotated[FiniteFloat, Field(ge=0, le=2)], described(
        "Between the leaves.", 0.2, "Wet with grease about 0.1, dry and rusty 0.5 and more; common practice, no source.", usual=(0, 0.8))] = 0.0  # fmt: skip
    helper_rate_n_mm: Annotated[
        NotNegative, described("Rate of the helper leaves.", 20.0, "Take it from data.", usual=(0, 600))
    ] = 0.0
    helper_contact_mm: Annotated[NotNegative, described(
        "How far the main leaves bend until the helper touches.", 40.0, "Measure the gap between helper and pad without load.", usual=(0, 300))] = 0.0  # fmt: skip
    measured_camber_mm: Annotated[FiniteFloat | None, described(
        "Height of the bow under the load at ride height, for the sag.", 30.0, "Lay a straight edge over the eyes of the fitted spring, and measure down.",
        usual=(-150, 400))] = None  # fmt: skip
    motion_ratio: MotionRatio = 1.0

    @model_validator(mode="after")
    def _free_to_bend(self) -> Self:
        if self.spring().arm_m <= 0:
            raise ValueError("the clamp is as long as the spring; expected span_mm above clamp_length_mm")
        if self.measured_camber_mm is not None and self.free_camber_mm <= 0:
            raise ValueError("measured_camber_mm is without free_camber_mm; expected both, for the sag")
        return self

    def spring(self) -> LeafSpring:
        return LeafSpring(
            span_m=self.span_mm / MM_PER_M,
            width_m=self.width_mm / MM_PER_M,
            thickness_m=self.thickness_mm / MM_PER_M,
            full_length_count=self.full_length_leaves,
            graduated_count=self.graduated_leaves,
            clamp_length_m=self.clamp_length_mm / MM_PER_M,
            clamp=self.clamp,
            modulus_pa=self.modulus_gpa * 1e9,
            free_camber_m=self.free_camber_mm / MM_PER_M,
            shackle_tangent_ratio=self.shackle_tangent,
            friction_ratio=self.friction_coefficient,
        )

    def rate_n_m(self, load_n: float) -> float:
        leaf = self.spring()
        main = leaf.rate_with_shackle_n_m(leaf.deflection_m(load_n))
        return HelperSpring(main, self.helper_rate_n_mm * MM_PER_M, self.helper_contact_mm / MM_PER_M).rate_n_m(load_n)

    def stress_pa(self, load_n: float) -> float:
        """Of the full-length leaves, assembled without nip; the helper left out."""
        return self.spring().stress_pa(load_n)[0]


class Coil(Declared):
    """A coil spring."""

    kind: Annotated[Literal["coil"], described("What spring it is.", "coil", LOOK)]
    wire_diameter_mm: Annotated[
        Positive, described("Wire.", 11.0, "Measure the bare wire with a caliper.", usual=(3, 40))
    ]
    coil_diameter_mm: Annotated[Positive, described(
        "Coil, to the middle of the wire.", 110.0, "Measure the outside, and take one wire off.", usual=(25, 350))]  # fmt: skip
    active_coils: Annotated[Positive, described(
        "Coils that are free to move.", 7.0, "Count all turns, and take off the dead ones: about 1.5 to 2 with ground ends.", unit="1", usual=(2, 30))]  # fmt: skip
    shear_modulus_gpa: Annotated[Positive, described("Shear modulus.", 79.3, "Leave it for steel.", usual=(10, 85))] = (
        STEEL_SHEAR_PA / 1e9
    )
    motion_ratio: MotionRatio = 1.0

    @model_validator(mode="after")
    def _wound(self) -> Self:
        if self.coil_diameter_mm <= self.wire_diameter_mm:
            raise ValueError(
                "coil_diameter_mm is not above wire_diameter_mm; expected the diameter to the wire's middle"
            )
        return self

    def spring(self) -> CoilSpring:
        wire, coil = self.wire_diameter_mm / MM_PER_M, self.coil_diameter_mm / MM_PER_M
        return CoilSpring(wire, coil, self.active_coils, self.shear_modulus_gpa * 1e9)

    def rate_n_m(self, load_n: float) -> float:
        return self.spring().rate_n_m

    def stress_pa(self, load_n: float) -> float:
        return self.spring().shear_stress_pa(load_n)


class Torsion(Declared):
    """A torsion bar at the end of a lever that carries the wheel; with the tube's diameters, the bar inside a tube."""

    kind: Annotated[Literal["torsion-bar"], described("What spring it is.", "torsion-bar", LOOK)]
    diameter_mm: Annotated[
        Positive,
        described("Diameter of the bar.", 22.0, "Measure it with a caliper, clear of the splines.", usual=(8, 80)),
    ]
    length_mm: Annotated[
        Positive, described("Length that twists.", 1000.0, "Measure between the splines.", usual=(200, 2500))
    ]
    lever_mm: Annotated[
        Positive,
        described(
            "Lever from bar to wheel.",
            350.0,
            "Measure from the bar to the wheel's middle, square to the bar.",
            usual=(50, 900),
        ),
    ]
    lever_angle_deg: Annotated[Annotated[FiniteFloat, Field(gt=-80, lt=80)], described(
        "Lever from level, positive on the bump side.", 0.0, "Lay an angle gauge on the lever, at ride height.")] = 0.0  # fmt: skip
    tube_outer_mm: Annotated[
        Positive | None,
        described("Outside of the tube round the bar.", 40.0, "Measure it with a caliper.", usual=(15, 150)),
    ] = None
    tube_inner_mm: Annotated[
        NotNegative, described("Bore of that tube.", 30.0, "Measure it with a caliper.", usual=(0, 140))
    ] = 0.0
    tube_length_mm: Annotated[
        Positive | None,
        described(
            "Length of the tube that twists; the bar's without it.",
            900.0,
            "Measure between the splines.",
            usual=(200, 2500),
        ),
    ] = None
    shear_modulus_gpa: Annotated[Positive, described("Shear modulus.", 79.3, "Leave it for steel.", usual=(10, 85))] = (
        STEEL_SHEAR_PA / 1e9
    )
    motion_ratio: MotionRatio = 1.0

    @model_validator(mode="after")
    def _bar_inside(self) -> Self:
        if self.tube_outer_mm is not None and not self.diameter_mm < self.tube_inner_mm < self.tube_outer_mm:
            raise ValueError(
                "the bar does not go inside the tube; expected diameter_mm < tube_inner_mm < tube_outer_mm"
            )
        return self

    def bar(self) -> TorsionBar:
        return TorsionBar(self.diameter_mm / MM_PER_M, self.length_mm / MM_PER_M, 0.0, self.shear_modulus_gpa * 1e9)

    def rate_n_m(self, load_n: float) -> float:
        shear = self.shear_modulus_gpa * 1e9
        twist = self.bar().rate_n_m_rad
        if self.tube_outer_mm is not None:
            length = (self.tube_length_mm or self.length_mm) / MM_PER_M
            tube = TorsionBar(self.tube_outer_mm / MM_PER_M, length, self.tube_inner_mm / MM_PER_M, shear)
            twist = in_series(twist, tube.rate_n_m_rad)
        return lever_rate_n_m(twist, self.lever_mm / MM_PER_M, math.radians(self.lever_angle_deg), load_n)

    def stress_pa(self, load_n: float) -> float:
        """Of the bar; the tube is usually less stressed."""
        reach = self.lever_mm / MM_PER_M * math.cos(math.radians(self.lever_angle_deg))
        return self.bar().shear_stress_pa(load_n * reach)


class Measured(Declared):
    """A spring as measured: rate at ride height and half the width of its load loop."""

    kind: Annotated[Literal["measured"], described("What spring it is.", "measured", LOOK)]
    rate_n_mm: Annotated[Positive, described(
        "Rate at ride height.", 40.0, "Load it step by step in a press, behind a guard, and divide the force by the travel round ride height.", usual=(1, 2000),
        odd="In newtons a millimetre?")]  # fmt: skip
    friction_n: Annotated[NotNegative, described(
        "Half the width of its load loop.", 30.0, "Load it and unload it: half of the force between both ways, at ride height.", usual=(0, 3000))] = 0.0  # fmt: skip
    motion_ratio: MotionRatio = 1.0

    def rate_n_m(self, load_n: float) -> float:
        return self.rate_n_mm * MM_PER_M


OneSpring = Annotated[Leaf | Coil | Torsion | Measured, Field(discriminator="kind")]


class Parallel(Declared):
    """Springs that each carry a part of the wheel, every one through its own motion ratio."""

    kind: Annotated[Literal["parallel"], described("Several springs side by side.", "parallel", LOOK)]
    springs: Annotated[list[OneSpring], Field(min_length=2, max_length=6)]


class Series(Declared):
    """Springs one on the other, each with the whole load; their own motion ratios must be left at 1."""

    kind: Annotated[Literal["series"], described("Several springs one on the other.", "series", LOOK)]
    springs: Annotated[list[OneSpring], Field(min_length=2, max_length=6)]
    motion_ratio: MotionRatio = 1.0

    @model_validator(mode="after")
    def _one_ratio(self) -> Self:
        if any(spring.motion_ratio != 1.0 for spring in self.springs):
            raise ValueError("a spring in series has a motion_ratio; expected one for all, in [spring] itself")
        return self


Single = Leaf | Coil | Torsion | Measured
AnySpring = Single | Parallel | Series
SpringSpec = Annotated[AnySpring, Field(discriminator="kind")]


def in_series(*rates: float) -> float:
    """Each carries the whole load: a bar inside a tube, a spring on its rubber, a spring on its tyre. Any one unit."""
    return 1 / sum(1 / rate for rate in rates)


def in_parallel(*rates: float) -> float:
    """Each is moved by the same travel."""
    return float(sum(rates))


def at_wheel(spec: AnySpring, wheel_load_n: float) -> tuple[float, float]:
    """Wheel rate [N/m] and spring friction at the wheel [N] under the load that the wheel's spring carries.

    Rate times the square of the motion ratio, friction times the ratio itself. Source: [dixon2007] (motion ratio).
    In series the frictions add as they use up travel: k (f1/k1 + f2/k2), half-width of a loop wider than both (own).
    """
    if isinstance(spec, Parallel):
        each = [
            at_wheel(one, load) for one, load in zip(spec.springs, loads_at_wheel_n(spec, wheel_load_n), strict=True)
        ]
        return in_parallel(*(rate for rate, _ in each)), sum(friction for _, friction in each)
    ratio = spec.motion_ratio
    load = wheel_load_n / ratio
    if isinstance(spec, Series):
        rates = [one.rate_n_m(load) for one in spec.springs]
        whole = in_series(*rates)
        friction = whole * sum(friction_n(one, load) / rate for one, rate in zip(spec.springs, rates, strict=True))
        return whole * ratio**2, friction * ratio
    return spec.rate_n_m(load) * ratio**2, friction_n(spec, load) * ratio


def friction_n(spec: Single, load_n: float) -> float:
    """Half-width of the load loop of one spring under its own load; 0 for coils and bars."""
    if isinstance(spec, Leaf):
        return spec.spring().friction_n(load_n)
    return spec.friction_n if isinstance(spec, Measured) else 0.0


def loads_at_wheel_n(spec: Parallel, wheel_load_n: float) -> list[float]:
    """What each carries of the wheel's load: shared by wheel rate, as if all were slack together. Source: own."""
    share = [1 / len(spec.springs)] * len(spec.springs)
    for _ in range(3):  # a rate may depend a little on its load
        rates = [at_wheel(one, part * wheel_load_n)[0] for one, part in zip(spec.springs, share, strict=True)]
        share = [rate / sum(rates) for rate in rates]
    return [part * wheel_load_n for part in share]
