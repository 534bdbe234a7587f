"""damper.toml: what is known about the unit on the bench."""

import math
from collections.abc import Mapping
from typing import Annotated, Any, Literal, Self

from pydantic import Field, FiniteFloat, ValidationError, model_validator

from dampkit.bench.declared import Declared, NotNegative, Positive
from dampkit.bench.described import described, section
from dampkit.damper.arm import Arm, TorqueReference, arm_at_middle_m
from dampkit.damper.kinds import (
    CARRY_SIDE_LOAD,
    HYDRAULIC,
    LEVERS,
    MONOTUBES,
    TUBES,
    WITH_ARM,
    WITH_ROD,
    Duty,
    Kind,
    facts_of,
)
from dampkit.damper.side_load import Strut

__all__ = ["Damper", "DamperSpec", "Duty", "Gas", "Kind", "Oil", "Reference"]
LEAST_TOLERANCE_N = 0.1  # a narrower window no bench can hold a unit to; own choice


class Damper(Declared):
    """The unit on the bench."""

    serial: Annotated[
        str | None, described("Number by which the unit is known.", "A-1042", "Read it off the body or the job's tag.")
    ] = None
    kind: Annotated[Kind | None, described(
        "How it is built.", "twin-tube",
        "Gas under pressure behind a floating piston makes a monotube; a reserve round the working tube a twin-tube; an arm on a shaft a lever-arm, with clamped discs a friction-disc; what steadies the steering is a steering-damper.")] = None  # fmt: skip
    piston_diameter_mm: Annotated[Annotated[FiniteFloat, Field(gt=0, le=500)] | None, described(
        "Bore of the working tube.", 27.0, "Measure the bore with a telescopic gauge, or the piston with a micrometer.",
        kinds=HYDRAULIC, usual=(12, 120), odd="Millimetres across, not the radius?")] = None  # fmt: skip
    rod_diameter_mm: Annotated[Annotated[FiniteFloat, Field(gt=0, le=500)] | None, described(
        "Diameter of the rod.", 12.4, "Measure the bright part of the rod with a micrometer.", kinds=WITH_ROD,
        usual=(5, 60), odd="Millimetres across?")] = None  # fmt: skip
    oil_density_kg_m3: Annotated[Annotated[FiniteFloat, Field(ge=500, le=2000)] | None, described(
        "Density of the oil at 20 degC.", 860.0, "Take it from the oil's data sheet, or weigh 100 ml: grams times 10.",
        kinds=HYDRAULIC, usual=(780, 1050))] = None  # fmt: skip
    oil_viscosity_40_mm2_s: Annotated[Annotated[FiniteFloat, Field(gt=2, le=1000)] | None, described(
        "Kinematic viscosity of the oil at 40 degC.", 15.0, "Take it from the oil's data sheet; of an ISO VG grade it is the grade's number.",
        kinds=HYDRAULIC, usual=(5, 100))] = None  # fmt: skip
    oil_viscosity_100_mm2_s: Annotated[Annotated[FiniteFloat, Field(gt=2, le=200)] | None, described(
        "Kinematic viscosity of the oil at 100 degC; goes with that at 40.", 3.8, "Take it from the oil's data sheet.",
        kinds=HYDRAULIC, usual=(2.1, 20))] = None  # fmt: skip
    heat_capacity_j_k: Annotated[Annotated[FiniteFloat, Field(ge=50, le=20000)] | None, described(
        "Heat that warms the body with its oil by one kelvin.", 500.0,
        "Weigh the unit: its kilograms times 500 for steel with its oil, times 900 for aluminium.", usual=(200, 3000))] = None  # fmt: skip
    arm_length_mm: Annotated[Positive | None, described(
        "Pivot to the arm's end, where force is taken.", 160.0, "Measure from the middle of the shaft to the middle of the eye.",
        kinds=WITH_ARM, usual=(60, 400))] = None  # fmt: skip
    piston_arm_mm: Annotated[Positive | None, described(
        "Pivot to piston of a lever-arm unit.", 40.0, "With the cover off, measure from the middle of the shaft to where the rocker meets the piston.",
        kinds=LEVERS, usual=(10, 120))] = None  # fmt: skip
    duty: Annotated[Duty, described(
        "What it does; a strut carries side load, and rubs more.", "car",
        "A unit that also steers and guides the wheel is a strut; one of a lorry or bus is of a truck.", kinds=CARRY_SIDE_LOAD)] = "car"  # fmt: skip
    friction_limit_n: Annotated[Positive | None, described(
        "The most friction that a sound one may have; wins over what is published.", 55.0,
        "Take it from the maker's data, or from a few units that you know to be good.", usual=(3, 1000))] = None  # fmt: skip
    bleed_check: Annotated[bool | None, described(
        "Whether a check valve covers the piston's bleed, so that it is open one way only.", False,
        "Look at the piston once it is out: a thin disc over the bleed hole is a check valve.", kinds=HYDRAULIC)] = None  # fmt: skip

    @model_validator(mode="after")
    def _rod_fits_the_bore(self) -> Self:
        bore, rod = self.piston_diameter_mm, self.rod_diameter_mm
        if bore is not None and rod is not None and rod >= bore:
            raise ValueError(
                f"rod_diameter_mm {rod:g}, piston_diameter_mm {bore:g}; expected a rod thinner than the piston"
            )
        return self

    @model_validator(mode="after")
    def _oil_thins(self) -> Self:
        cold, hot = self.oil_viscosity_40_mm2_s, self.oil_viscosity_100_mm2_s
        if hot is not None and (cold is None or hot >= cold):
            raise ValueError(
                f"oil_viscosity_100_mm2_s {hot:g}, oil_viscosity_40_mm2_s {'absent' if cold is None else f'{cold:g}'};"
                " expected both, the oil thinner at 100 degC"
            )
        return self


# Twice what the fastest benches run, so that mm/s are not taken for m/s; common practice, no source
Speed = Annotated[FiniteFloat, Field(gt=0, le=20)]


class Reference(Declared):
    """Forces of a known-good unit: bench readings, friction in, gas force out; positive magnitudes."""

    velocity_m_s: Annotated[tuple[Speed, ...], described(
        "Speeds at which the forces are given, slow to fast.", [0.05, 0.1, 0.3],
        "Take the peak speeds of the test sheet: pi times stroke times turns a second.", usual=(0.002, 3))] = Field(min_length=1, strict=False)  # fmt: skip
    rebound_force_n: Annotated[tuple[NotNegative, ...], described(
        "Force in rebound at each of these speeds.", [124.0, 421.0, 1260.0],
        "Read them on a unit known to be good, or copy them from the specification.", usual=(1, 30_000))] = Field(strict=False)  # fmt: skip
    compression_force_n: Annotated[tuple[NotNegative, ...], described(
        "Force in compression at each of these speeds.", [157.0, 297.0, 335.0],
        "As in rebound; a magnitude, without a sign.", usual=(1, 30_000))] = Field(strict=False)  # fmt: skip
    temperature_c: Annotated[Annotated[FiniteFloat, Field(ge=-40, le=150)], described(
        "How warm the oil was when these forces were read; 20 is common practice.", 20.0,
        "See the test sheet, or hold a probe to the body.", usual=(0, 100))] = 20.0  # fmt: skip
    tolerance_percent: Annotated[NotNegative, described(
        "How far a sound unit may be off, in percent of the force.", 15.0, "Take it from the specification; 15 is common practice.",
        usual=(2, 40))] = 15.0  # fmt: skip
    tolerance_floor_n: Annotated[NotNegative, described(
        "The least that it may be off at small forces.", 25.0, "Take it from the specification.", usual=(0, 300))] = 25.0  # fmt: skip
    rebound_tolerance_n: Annotated[tuple[Positive, ...] | None, described(
        "Half-width of the window at each speed in rebound; wins over percent and floor.", [20.0, 60.0, 180.0],
        "Put several good units through `dampkit reference`.", usual=(0.5, 5000))] = Field(default=None, strict=False)  # fmt: skip
    compression_tolerance_n: Annotated[tuple[Positive, ...] | None, described(
        "Half-width of the window at each speed in compression.", [25.0, 45.0, 50.0],
        "Put several good units through `dampkit reference`.", usual=(0.5, 5000))] = Field(default=None, strict=False)  # fmt: skip

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
    """The charge on the data sheet."""

    pressure_bar: Annotated[Annotated[FiniteFloat, Field(gt=0, le=100)], described(
        "Gas pressure, over the air.", 20.0, "Take it from the data sheet; read it only with a gauge made for the filling valve.",
        kinds=MONOTUBES, usual=(3, 40))]  # fmt: skip
    tolerance_percent: Annotated[Annotated[FiniteFloat, Field(gt=0, le=50)], described(
        "How far the charge may be off; 15 is common practice.", 15.0, "Take it from the data sheet.", kinds=MONOTUBES)] = 15.0  # fmt: skip
    temperature_c: Annotated[Annotated[FiniteFloat, Field(ge=-40, le=150)], described(
        "How warm the unit is at that pressure.", 20.0, "Take it from the data sheet.", kinds=MONOTUBES, usual=(0, 60))] = 20.0  # fmt: skip
    position_mm: Annotated[Annotated[FiniteFloat, Field(ge=-500, le=500)], described(
        "How far the rod is out from the middle of the bench's stroke at that pressure; below 0 it is in.", 0.0,
        "Measure from where the rod stood when charged to where it stands at mid-stroke on the bench.", kinds=MONOTUBES)] = 0.0  # fmt: skip
    volume_ml: Annotated[Positive | None, described(
        "Volume of the gas there; where it is left out, the log's own gas spring stands in for it.", 60.0,
        "Take it from the data sheet, or work it out from bore and place of the floating piston.", kinds=MONOTUBES, usual=(5, 2000))] = None  # fmt: skip


class Oil(Declared):
    """The oil and where it stands. Places of the rod on one scale, larger further out."""

    grade: Annotated[str | None, described(
        "Grade of oil that belongs in it.", "damper oil, 15 mm2/s at 40 degC", "Take it from the maker's data; never thicker to hide wear.",
        kinds=HYDRAULIC)] = None  # fmt: skip

    fill_ml: Annotated[Positive | None, described(
        "Oil of a full unit.", 240.0, "Take it from the maker's data.", kinds=HYDRAULIC, usual=(30, 5000))] = None  # fmt: skip
    fill_g: Annotated[Positive | None, described(
        "The same by weight, in grams.", 206.0, "Take it from the maker's data.", kinds=HYDRAULIC, usual=(30, 5000))] = None  # fmt: skip
    level_mm: Annotated[NotNegative | None, described(
        "Height of the oil over the foot valve with the rod fully out, as the maker has it.", 150.0,
        "Take it from the maker's data.", kinds=TUBES, usual=(20, 1000))] = None  # fmt: skip
    air_space_mm: Annotated[NotNegative | None, described(
        "Or the air over it: from the top of the reserve tube, or the filler plug of a lever-arm, down to the oil.", 70.0,
        "Lower a rule in until it meets the oil, rod fully out.", kinds=(*TUBES, *LEVERS), usual=(5, 500))] = None  # fmt: skip
    reservoir_mm2: Annotated[Positive | None, described(
        "Area of the oil's surface under the filler plug of a lever-arm.", 1800.0, "Measure the inside of the body at the level.",
        unit="mm2", kinds=LEVERS, usual=(200, 20000))] = None  # fmt: skip
    length_tolerance_mm: Annotated[Positive, described(
        "How well the lengths here are known, 95 %.", 1.0, "A rule 1, a depth gauge 0.2.", kinds=(*TUBES, *LEVERS), usual=(0.05, 5))] = 1.0  # fmt: skip
    reserve_length_mm: Annotated[Positive | None, described(
        "Length of the reserve tube over the foot valve.", 220.0, "Measure inside, from the foot valve to the top.", kinds=TUBES, usual=(50, 1000))] = None  # fmt: skip
    reserve_bore_mm: Annotated[Positive | None, described(
        "Bore of the reserve tube.", 46.0, "Measure the inside with a telescopic gauge.", kinds=TUBES, usual=(20, 200))] = None  # fmt: skip
    tube_outer_mm: Annotated[Positive | None, described(
        "Outside of the working tube that stands in the reserve.", 30.0, "Measure it with a caliper.", kinds=TUBES, usual=(15, 150))] = None  # fmt: skip
    full_extension_mm: Annotated[Positive | None, described(
        "Place of the rod fully out.", 480.0, "Measure from eye to eye with the rod fully out.", kinds=TUBES, usual=(100, 2000))] = None  # fmt: skip
    mid_position_mm: Annotated[Positive | None, described(
        "Place of the rod in the middle of the bench's stroke.", 400.0, "Measure from eye to eye at mid-stroke on the bench.", kinds=TUBES, usual=(80, 2000))] = None  # fmt: skip
    posture: Annotated[Literal["upright", "lying", "inverted"], described(
        "How it stands on the bench.", "upright", "Upright is rod up.", kinds=TUBES)] = "upright"  # fmt: skip
    vehicle_posture: Annotated[Literal["upright", "lying", "inverted"], described(
        "How it stands in the car.", "upright", "Look at it fitted: a twin tube that lies or hangs rod down draws air.", kinds=TUBES)] = "upright"  # fmt: skip

    @property
    def height_mm(self) -> float | None:
        if self.level_mm is not None:
            return self.level_mm
        if self.air_space_mm is None or self.reserve_length_mm is None:
            return None
        return self.reserve_length_mm - self.air_space_mm

    @property
    def ring_m2(self) -> float | None:
        """Cross-section of the reserve, of a lever-arm the surface of its oil."""
        if self.reservoir_mm2 is not None:
            return 1e-6 * self.reservoir_mm2
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
    """What is known about the unit on the bench, all of it optional.

    A reference in torque becomes `reference`, at the arm's end.
    """

    damper: Damper = Damper()
    reference: Reference | None = None
    reference_torque: Annotated[TorqueReference | None, section(
        "Or torques of a known-good unit at its shaft: friction in, positive magnitudes.", WITH_ARM)] = None  # fmt: skip
    arm: Annotated[Arm | None, section("How the arm stands on the bench.", WITH_ARM)] = None
    strut: Annotated[
        Strut | None, section('A strut, which carries side load; needs duty = "strut".', CARRY_SIDE_LOAD)
    ] = None
    gas: Annotated[Gas | None, section("The charge on the data sheet.", MONOTUBES)] = None
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
