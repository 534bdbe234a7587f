"""stock.toml: what this workshop can fit. All of it optional; without it ratios and common drills are named."""

from __future__ import annotations

from typing import Annotated, Literal, Self

from pydantic import Field, FiniteFloat, model_validator

from dampkit.bench.declared import Declared, Positive
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
    drill_set: Literal["metric", "inch"] = "metric"
    drills_mm: tuple[Positive, ...] | None = Field(default=None, strict=False, min_length=1)  # instead of a whole set
    holes: Annotated[int, Field(ge=1, le=3)] = 2  # at most so many equal ones to drill
    discharge_coefficient: Discharge = DISCHARGE

    @property
    def drills(self) -> dict[float, str]:
        """Diameter, mm, to what it is called; the millimetres alone where that is its name."""
        if self.drills_mm is not None:
            return dict.fromkeys(self.drills_mm, "")
        return inch_drills() if self.drill_set == "inch" else dict.fromkeys(COMMON_DRILLS_MM, "")


class Blowoff(Declared):
    """The spring of one blow-off: what turns a pressure into millimetres of preload."""

    seat_diameter_mm: Positive | None = None
    spring_rate_n_mm: Positive | None = None
    preload_travel_mm: Positive | None = None  # how far packing or nut can go either way
    packing_mm: Positive = 0.1  # smallest step of the packing under the spring
    thread_pitch_mm: Positive | None = None  # of the adjusting nut, if it has one
    spring_rates_n_mm: tuple[Positive, ...] = Field(default=(), strict=False)  # other springs in stock

    @model_validator(mode="after")
    def _stock_needs_a_start(self) -> Self:
        if self.spring_rates_n_mm and self.spring_rate_n_mm is None:
            raise ValueError(
                "spring_rates_n_mm without spring_rate_n_mm; expected the rate of the spring now fitted too"
            )
        return self


class Blowoffs(Declared):
    rebound: Blowoff = Blowoff()
    compression: Blowoff = Blowoff()


class Stack(Declared):
    """A stack of shims clamped at the inner edge, loaded by pressure; thickness of each, mm, from the face on.

    `diameters_mm`: of each, where they are not all as the outer one: a taper, or a crossover, which is smaller than the
    shim behind it. `stock_mm` is then at hand in each of them.
    """

    outer_diameter_mm: Positive
    clamp_diameter_mm: Positive
    thickness_mm: tuple[Positive, ...] = Field(strict=False, min_length=1)
    diameters_mm: tuple[Positive, ...] | None = Field(default=None, strict=False)
    stock_mm: tuple[Positive, ...] = Field(strict=False, min_length=1)
    most: Annotated[int, Field(ge=1, le=12)] = 8
    modulus_gpa: Positive = 206.0
    poisson: Annotated[FiniteFloat, Field(ge=0.0, lt=0.5)] = 0.3

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
    rebound: Stack | None = None
    compression: Stack | None = None


class OilGrade(Declared):
    name: str
    viscosity_40_mm2_s: Annotated[FiniteFloat, Field(gt=2)]
    viscosity_100_mm2_s: Annotated[FiniteFloat, Field(gt=1)]

    @model_validator(mode="after")
    def _thins_with_heat(self) -> Self:
        if self.viscosity_100_mm2_s >= self.viscosity_40_mm2_s:
            raise ValueError(f"oil {self.name!r} is thicker hot than at 40 degC; expected viscosity_100_mm2_s below it")
        return self


class Oils(Declared):
    now: OilGrade
    stock: tuple[OilGrade, ...] = Field(strict=False, min_length=1)


class Stock(Declared):
    bleed: Bleed = Bleed()
    blowoff: Blowoffs = Blowoffs()
    stack: Stacks = Stacks()
    oil: Oils | None = None
