"""The [spring] table of a vehicle file: what the wheel rate is worked out from where it was not measured."""

from __future__ import annotations

import math
from typing import Annotated, Literal

from pydantic import Field, FiniteFloat, model_validator

from dampkit.bench.declared import Declared, NotNegative, Positive
from dampkit.needs.springs.coil import STEEL_SHEAR_PA, CoilSpring
from dampkit.needs.springs.combine import HelperSpring, in_parallel, in_series
from dampkit.needs.springs.leaf import STEEL_PA, Clamp, LeafSpring
from dampkit.needs.springs.torsion import TorsionBar, lever_rate_n_m

MM_PER_M = 1e3
Count = Annotated[int, Field(ge=0, le=40)]
MotionRatio = Annotated[FiniteFloat, Field(gt=0, le=5)]  # spring travel per wheel travel


class Leaf(Declared):
    """A semi-elliptic leaf spring under the axle; the helper leaves are optional."""

    kind: Literal["leaf"]
    span_mm: Positive
    width_mm: Positive
    thickness_mm: Positive
    full_length_leaves: Annotated[int, Field(ge=1, le=40)]
    graduated_leaves: Count = 0
    clamp_length_mm: NotNegative = 0.0
    clamp: Clamp = "band"
    modulus_gpa: Positive = STEEL_PA / 1e9
    free_camber_mm: FiniteFloat = 0.0
    shackle_tangent: Annotated[FiniteFloat, Field(ge=-2, le=2)] = 0.0
    friction_coefficient: Annotated[FiniteFloat, Field(ge=0, le=2)] = 0.0
    helper_rate_n_mm: NotNegative = 0.0
    helper_contact_mm: NotNegative = 0.0
    measured_camber_mm: FiniteFloat | None = None  # under the load at ride height, for the sag
    motion_ratio: MotionRatio = 1.0

    @model_validator(mode="after")
    def _free_to_bend(self) -> Leaf:
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
    kind: Literal["coil"]
    wire_diameter_mm: Positive
    coil_diameter_mm: Positive  # to the middle of the wire
    active_coils: Positive
    shear_modulus_gpa: Positive = STEEL_SHEAR_PA / 1e9
    motion_ratio: MotionRatio = 1.0

    @model_validator(mode="after")
    def _wound(self) -> Coil:
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

    kind: Literal["torsion-bar"]
    diameter_mm: Positive
    length_mm: Positive
    lever_mm: Positive
    lever_angle_deg: Annotated[FiniteFloat, Field(gt=-80, lt=80)] = 0.0  # from level, positive on the bump side
    tube_outer_mm: Positive | None = None
    tube_inner_mm: NotNegative = 0.0
    tube_length_mm: Positive | None = None
    shear_modulus_gpa: Positive = STEEL_SHEAR_PA / 1e9
    motion_ratio: MotionRatio = 1.0

    @model_validator(mode="after")
    def _bar_inside(self) -> Torsion:
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

    kind: Literal["measured"]
    rate_n_mm: Positive
    friction_n: NotNegative = 0.0
    motion_ratio: MotionRatio = 1.0

    def rate_n_m(self, load_n: float) -> float:
        return self.rate_n_mm * MM_PER_M


OneSpring = Annotated[Leaf | Coil | Torsion | Measured, Field(discriminator="kind")]


class Parallel(Declared):
    """Springs that each carry a part of the wheel, every one through its own motion ratio."""

    kind: Literal["parallel"]
    springs: Annotated[list[OneSpring], Field(min_length=2, max_length=6)]


class Series(Declared):
    """Springs one on the other, each with the whole load; their own motion ratios must be left at 1."""

    kind: Literal["series"]
    springs: Annotated[list[OneSpring], Field(min_length=2, max_length=6)]
    motion_ratio: MotionRatio = 1.0

    @model_validator(mode="after")
    def _one_ratio(self) -> Series:
        if any(spring.motion_ratio != 1.0 for spring in self.springs):
            raise ValueError("a spring in series has a motion_ratio; expected one for all, in [spring] itself")
        return self


Single = Leaf | Coil | Torsion | Measured
AnySpring = Single | Parallel | Series
SpringSpec = Annotated[AnySpring, Field(discriminator="kind")]


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
