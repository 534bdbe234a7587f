"""damper.toml: what is known about the unit on the bench."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Annotated, Any, Literal, Self

from pydantic import Field, FiniteFloat, ValidationError, model_validator

from dampkit.bench.declared import Declared, NotNegative, Positive
from dampkit.damper.arm import Arm, TorqueReference, arm_at_middle_m
from dampkit.damper.kinds import Duty as Duty
from dampkit.damper.kinds import Kind as Kind
from dampkit.damper.kinds import facts_of
from dampkit.damper.side_load import Strut

LEAST_TOLERANCE_N = 0.1  # a narrower window no bench can hold a unit to; own choice


class Damper(Declared):
    serial: str | None = None
    kind: Kind | None = None
    piston_diameter_mm: Annotated[FiniteFloat, Field(gt=0, le=500)] | None = None
    rod_diameter_mm: Annotated[FiniteFloat, Field(gt=0, le=500)] | None = None
    oil_density_kg_m3: Annotated[FiniteFloat, Field(ge=500, le=2000)] | None = None
    arm_length_mm: Positive | None = None  # units with an arm: pivot to the arm's end
    piston_arm_mm: Positive | None = None  # lever-arm units: pivot to piston
    duty: Duty = "car"
    friction_limit_n: Positive | None = None  # the most that a sound one may have; wins over what is published
    bleed_check: bool | None = None  # a check valve over the bleed of the piston, so that it is open one way only

    @model_validator(mode="after")
    def _rod_fits_the_bore(self) -> Self:
        bore, rod = self.piston_diameter_mm, self.rod_diameter_mm
        if bore is not None and rod is not None and rod >= bore:
            raise ValueError(
                f"rod_diameter_mm {rod:g}, piston_diameter_mm {bore:g}; expected a rod thinner than the piston"
            )
        return self


class Reference(Declared):
    """Forces of a known-good unit: bench readings, friction in, gas force out; positive magnitudes."""

    velocity_m_s: tuple[Positive, ...] = Field(min_length=1, strict=False)
    rebound_force_n: tuple[NotNegative, ...] = Field(strict=False)
    compression_force_n: tuple[NotNegative, ...] = Field(strict=False)
    temperature_c: Annotated[FiniteFloat, Field(ge=-40, le=150)] = 20.0  # of the oil when good; 20 common practice
    tolerance_percent: NotNegative = 15.0
    tolerance_floor_n: NotNegative = 25.0
    # half-width of the window at each velocity, from several known-good units; wins over percent and floor
    rebound_tolerance_n: tuple[Positive, ...] | None = Field(default=None, strict=False)
    compression_tolerance_n: tuple[Positive, ...] | None = Field(default=None, strict=False)

    @model_validator(mode="after")
    def _lists_fit_together(self) -> Self:
        counts = (len(self.velocity_m_s), len(self.rebound_force_n), len(self.compression_force_n))
        if len(set(counts)) > 1:
            raise ValueError(
                f"velocity_m_s has {counts[0]} values, rebound_force_n {counts[1]} and compression_force_n {counts[2]}"
                "; expected one force of each direction for every velocity"
            )
        for name in ("rebound_tolerance_n", "compression_tolerance_n"):
            own = getattr(self, name)
            if own is not None and len(own) != counts[0]:
                raise ValueError(
                    f"velocity_m_s has {counts[0]} values, {name} {len(own)}; expected one for every velocity"
                )
        self._windows_have_width()
        falls = [b for a, b in zip(self.velocity_m_s, self.velocity_m_s[1:], strict=False) if b <= a]
        if falls:
            raise ValueError(f"velocity_m_s does not rise at {falls[0]:g}; expected slow to fast, each velocity once")
        return self

    def _windows_have_width(self) -> None:
        for name in ("rebound", "compression"):
            own, forces = getattr(self, f"{name}_tolerance_n"), getattr(self, f"{name}_force_n")
            rooms = own or [max(0.01 * self.tolerance_percent * f, self.tolerance_floor_n) for f in forces]
            if min(rooms) < LEAST_TOLERANCE_N:
                raise ValueError(
                    f"the tolerance in {name} is {min(rooms):.2g} N at one velocity; expected at least"
                    f" {LEAST_TOLERANCE_N:g} N at each: set tolerance_floor_n, or {name}_tolerance_n"
                )


class Gas(Declared):
    """The charge on the data sheet: pressure over the air, where the rod stands then, and how warm it is.

    `position_mm`: how far the rod is out from the middle of the bench's stroke; below 0 it is in.
    """

    pressure_bar: Annotated[FiniteFloat, Field(gt=0, le=100)]
    tolerance_percent: Annotated[FiniteFloat, Field(gt=0, le=50)] = 15.0  # common practice, no source
    temperature_c: Annotated[FiniteFloat, Field(ge=-40, le=150)] = 20.0
    position_mm: Annotated[FiniteFloat, Field(ge=-500, le=500)] = 0.0


class Oil(Declared):
    """The oil of a twin tube and where it stands. Lengths in mm; positions of the rod on one scale, larger further out.

    `level_mm`: height of the oil over the foot valve with the rod fully out, as the maker has it; or `air_space_mm` from
    the top of the reserve tube, `reserve_length_mm` long over the foot valve, down to it. `mid_position_mm`: where the
    rod stands in the middle of the bench's stroke.
    """

    fill_ml: Positive | None = None
    fill_g: Positive | None = None
    level_mm: NotNegative | None = None
    air_space_mm: NotNegative | None = None
    reserve_length_mm: Positive | None = None
    reserve_bore_mm: Positive | None = None
    tube_outer_mm: Positive | None = None  # of the working tube that stands in the reserve
    full_extension_mm: Positive | None = None
    mid_position_mm: Positive | None = None
    posture: Literal["upright", "lying", "inverted"] = "upright"  # on the bench

    @property
    def height_mm(self) -> float | None:
        if self.level_mm is not None:
            return self.level_mm
        if self.air_space_mm is None or self.reserve_length_mm is None:
            return None
        return self.reserve_length_mm - self.air_space_mm

    @property
    def ring_m2(self) -> float | None:
        """Cross-section of the reserve."""
        if self.reserve_bore_mm is None or self.tube_outer_mm is None:
            return None
        return 0.25e-6 * math.pi * (self.reserve_bore_mm**2 - self.tube_outer_mm**2)

    @model_validator(mode="after")
    def _parts_fit(self) -> Self:
        for large, small in (
            ("reserve_bore_mm", "tube_outer_mm"),
            ("reserve_length_mm", "air_space_mm"),
            ("full_extension_mm", "mid_position_mm"),
        ):
            a, b = getattr(self, large), getattr(self, small)
            if a is not None and b is not None and b >= a:
                raise ValueError(f"{small} {b:g}, {large} {a:g}; expected {small} to be the smaller")
        if self.fill_ml is not None and self.fill_g is not None:
            raise ValueError("fill_ml and fill_g are both given; expected one of them")
        return self


def _same_reference(given: Any, made: Mapping[str, object]) -> bool:
    try:
        return Reference.model_validate(given) == Reference.model_validate(made)
    except ValidationError:
        return False


class DamperSpec(Declared):
    """`reference_torque` is a reference in torque and angle: it becomes `reference`, at the arm's end."""

    damper: Damper = Damper()
    reference: Reference | None = None
    reference_torque: TorqueReference | None = None
    arm: Arm | None = None
    strut: Strut | None = None
    gas: Gas | None = None
    oil: Oil | None = None

    @model_validator(mode="before")
    @classmethod
    def _torque_as_force(cls, given: Any) -> Any:
        """Only where both parts are sound; what is wrong with one of them is said of that part."""
        if not isinstance(given, Mapping) or "reference_torque" not in given:
            return given
        try:
            torque = TorqueReference.model_validate(given["reference_torque"])
            damper = Damper.model_validate(given.get("damper", {}))
            arm = Arm.model_validate(given["arm"]) if given.get("arm") is not None else None
        except ValidationError:
            return given
        if damper.arm_length_mm is None:
            raise ValueError(
                "[reference_torque] is given and no arm; expected [damper] arm_length_mm, pivot to its end"
            )
        made = torque.at(arm_at_middle_m(1e-3 * damper.arm_length_mm, arm))
        if given.get("reference") is not None and not _same_reference(given["reference"], made):
            raise ValueError("[reference] and [reference_torque] are both given; expected one of them")
        return {**given, "reference": made}

    @model_validator(mode="after")
    def _parts_of_their_kind(self) -> Self:
        if self.strut is not None and self.damper.duty != "strut":
            raise ValueError(
                f"[strut] is given and duty is {self.damper.duty!r}; expected a strut: set [damper] duty, or leave it out"
            )
        if self.arm is not None and self.damper.arm_length_mm is None:
            raise ValueError("[arm] is given and no length; expected [damper] arm_length_mm, pivot to the arm's end")
        return self

    @model_validator(mode="after")
    def _gas_of_a_monotube(self) -> Self:
        if self.gas is not None and facts_of(self.damper.kind).gas != "charge":
            raise ValueError(
                f"[gas] is given and kind is {self.damper.kind!r}; expected a monotube, the only kind whose gas force tells"
                " its charge: set [damper] kind, or leave [gas] out"
            )
        return self
