"""stock.toml: what this workshop can fit. All of it optional; without it ratios and common drills are named."""

from typing import Annotated, Literal, Self

from pydantic import Field, FiniteFloat, model_validator

from dampkit.bench.declared import Declared, Positive
from dampkit.bench.described import described, section
from dampkit.outcome.change.bleed import inch_drills
from dampkit.outcome.change.tapered import Shim, ShimStack

# Twist drills in steps of 0.05 mm from 0.5 mm up to 3 mm and of 0.1 mm up to 5 mm: common metric set, no source
COMMON_DRILLS_MM = (
    *(round(0.05 * i, 2) for i in range(10, 61)),
    *(round(0.1 * i, 1) for i in range(31, 51)),
)
DISCHARGE = 0.65  # sharp turbulent hole 0.6 to 0.65 [rabie2009], up to 0.7 in use; only the size named depends on it

Discharge = Annotated[FiniteFloat, Field(gt=0.3, le=1.0)]


class Bleed(Declared):
    """What holes can be drilled."""

    drill_set: Annotated[
        Literal["metric", "inch"], described("Which twist drills there are.", "metric", "Look into the drill box.")
    ] = "metric"
    drills_mm: Annotated[tuple[Positive, ...] | None, described(
        "The drills, instead of a whole set.", [0.8, 1.0, 1.2, 1.5], "Read the sizes off the shanks.", usual=(0.2, 13))] = Field(
        default=None, strict=False, min_length=1)  # fmt: skip
    holes: Annotated[Annotated[int, Field(ge=1, le=3)], described(
        "At most so many equal holes to drill.", 2, "See how many the piston has room for.", unit="1")] = 2  # fmt: skip
    discharge_coefficient: Annotated[Discharge, described(
        "Of a drilled hole; only the size named depends on it.", 0.65, "Leave it, unless you have flowed one.", usual=(0.5, 0.9))] = DISCHARGE  # fmt: skip

    @property
    def drills(self) -> dict[float, str]:
        """Diameter, mm, to what it is called; the millimetres alone where that is its name."""
        if self.drills_mm is not None:
            return dict.fromkeys(self.drills_mm, "")
        return inch_drills() if self.drill_set == "inch" else dict.fromkeys(COMMON_DRILLS_MM, "")


class Blowoff(Declared):
    """The spring of one blow-off: what turns a pressure into millimetres of preload."""

    seat_diameter_mm: Annotated[Positive | None, described(
        "Diameter that the oil acts on.", 14.0, "Measure the bright ring on the seat.", usual=(3, 80))] = None  # fmt: skip
    spring_rate_n_mm: Annotated[Positive | None, described(
        "Rate of the spring now fitted.", 20.0, "Load it on a scale: newtons over millimetres.", usual=(0.5, 1000), odd="In newtons a millimetre?")] = None  # fmt: skip
    preload_travel_mm: Annotated[Positive | None, described(
        "How far packing or nut can go either way.", 3.0, "Measure the thread or the room left under the spring.", usual=(0.1, 30))] = None  # fmt: skip
    packing_mm: Annotated[Positive, described(
        "Smallest step of the packing under the spring.", 0.1, "Measure the thinnest washer.", usual=(0.02, 3))] = 0.1  # fmt: skip
    thread_pitch_mm: Annotated[Positive | None, described(
        "Pitch of the adjusting nut, if it has one.", 1.0, "Hold a thread gauge to it.", usual=(0.25, 4))] = None  # fmt: skip
    spring_rates_n_mm: Annotated[tuple[Positive, ...], described(
        "Other springs in stock.", [15.0, 25.0, 30.0], "Load each on a scale.", usual=(0.5, 1000))] = Field(default=(), strict=False)  # fmt: skip

    @model_validator(mode="after")
    def _stock_needs_a_start(self) -> Self:
        if self.spring_rates_n_mm and self.spring_rate_n_mm is None:
            raise ValueError(
                "spring_rates_n_mm without spring_rate_n_mm; expected the rate of the spring now fitted too"
            )
        return self


class Blowoffs(Declared):
    """The springs of the blow-off valves."""

    rebound: Annotated[Blowoff, section("Spring of the rebound blow-off.")] = Blowoff()
    compression: Annotated[Blowoff, section("Spring of the compression blow-off.")] = Blowoff()


class Stack(Declared):
    """A stack of shims clamped at the inner edge, loaded by pressure; thickness of each, mm, from the face on.

    `diameters_mm`: of each, where they are not all as the outer one: a taper, or a crossover, which is smaller than the
    shim behind it. `stock_mm` is then at hand in each of them.
    """

    outer_diameter_mm: Annotated[
        Positive, described("Outside of the shims.", 30.0, "Measure one with a caliper.", usual=(8, 100))
    ]
    clamp_diameter_mm: Annotated[
        Positive, described("Diameter within which they are held.", 14.0, "Measure the clamping washer.", usual=(4, 60))
    ]
    thickness_mm: Annotated[tuple[Positive, ...], described(
        "Thickness of each shim now fitted.", [0.15, 0.15, 0.2], "Measure each with a micrometer.", usual=(0.05, 1.0), odd="In millimetres, each shim alone?")] = Field(
        strict=False, min_length=1)  # fmt: skip
    diameters_mm: Annotated[tuple[Positive, ...] | None, described(
        "Diameter of each shim from the face on, where they are not all as the outer one: a taper or a crossover.", [30.0, 30.0, 26.0], "Measure each with a caliper.", usual=(8, 100))] = Field(
        default=None, strict=False)  # fmt: skip
    stock_mm: Annotated[tuple[Positive, ...], described(
        "Thicknesses in stock.", [0.1, 0.15, 0.2, 0.25], "Measure them with a micrometer.", usual=(0.05, 1.0))] = Field(strict=False, min_length=1)  # fmt: skip
    most: Annotated[Annotated[int, Field(ge=1, le=12)], described(
        "Most shims that there is room for.", 8, "See how much thread is left.", unit="1")] = 8  # fmt: skip
    modulus_gpa: Annotated[Positive, described("Young's modulus.", 206.0, "Leave it for steel.", usual=(60, 215))] = (
        206.0
    )
    poisson: Annotated[
        Annotated[FiniteFloat, Field(ge=0.0, lt=0.5)],
        described("Poisson's ratio.", 0.3, "Leave it for steel.", unit="1"),
    ] = 0.3

    @model_validator(mode="after")
    def _clamp_is_inside(self) -> Self:
        if self.clamp_diameter_mm >= self.outer_diameter_mm:
            found = f"clamp_diameter_mm {self.clamp_diameter_mm:g}, outer_diameter_mm {self.outer_diameter_mm:g}"
            raise ValueError(f"{found}; expected a clamp smaller than the shim")
        return self

    @model_validator(mode="after")
    def _each_has_a_diameter(self) -> Self:
        own = self.diameters_mm
        if own is None:
            return self
        if len(own) != len(self.thickness_mm):
            found = f"diameters_mm has {len(own)} values, thickness_mm {len(self.thickness_mm)}"
            raise ValueError(f"{found}; expected one of each for every shim, from the face on")
        if own[0] != self.outer_diameter_mm or max(own) > own[0] or min(own) <= self.clamp_diameter_mm:
            raise ValueError(
                f"diameters_mm {list(own)}, outer_diameter_mm {self.outer_diameter_mm:g}, clamp_diameter_mm"
                f" {self.clamp_diameter_mm:g}; expected the face first and largest, all larger than the clamp"
            )
        return self

    @property
    def layered(self) -> ShimStack | None:
        """The stack shim by shim; None where all are of one diameter."""
        if self.diameters_mm is None or len(set(self.diameters_mm)) == 1:
            return None
        shims = tuple(Shim(d, t) for d, t in zip(self.diameters_mm, self.thickness_mm, strict=True))
        return ShimStack(shims, self.clamp_diameter_mm, 1e9 * self.modulus_gpa, self.poisson)


class Stacks(Declared):
    """The shim stacks."""

    rebound: Annotated[Stack | None, section("Shims on the rebound side, clamped at the inner edge.")] = None
    compression: Annotated[Stack | None, section("Shims on the compression side, clamped at the inner edge.")] = None


class OilGrade(Declared):
    """One oil."""

    name: Annotated[str, described("What it is called.", "light (made up)", "Read it off the can.")]
    viscosity_40_mm2_s: Annotated[Annotated[FiniteFloat, Field(gt=2)], described(
        "Kinematic viscosity at 40 degC.", 15.0, "Take it from the data sheet.", usual=(4, 200))]  # fmt: skip
    viscosity_100_mm2_s: Annotated[Annotated[FiniteFloat, Field(gt=1)], described(
        "Kinematic viscosity at 100 degC.", 4.5, "Take it from the data sheet.", usual=(1.2, 40))]  # fmt: skip

    @model_validator(mode="after")
    def _thins_with_heat(self) -> Self:
        if self.viscosity_100_mm2_s >= self.viscosity_40_mm2_s:
            raise ValueError(f"oil {self.name!r} is thicker hot than at 40 degC; expected viscosity_100_mm2_s below it")
        return self


class Oils(Declared):
    """The oil in the unit, and those in stock."""

    now: Annotated[OilGrade, section("The oil that the unit was tested with.")]
    stock: Annotated[tuple[OilGrade, ...], section("The oils at hand.")] = Field(strict=False, min_length=1)


class Stock(Declared):
    """What this workshop can fit; without it ratios and common drills are named."""

    bleed: Bleed = Bleed()
    blowoff: Blowoffs = Blowoffs()
    stack: Stacks = Stacks()
    oil: Oils | None = None
