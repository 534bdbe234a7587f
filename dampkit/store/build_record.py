"""What a person writes down when a unit is opened and put together again: as found, as built, oil, gas, parts."""

from typing import Annotated, Literal

from pydantic import Field, FiniteFloat

from dampkit.bench.declared import Declared, NotNegative, Positive
from dampkit.bench.described import described

Shim = Annotated[tuple[Positive, Positive], Field(strict=False)]  # outer diameter and thickness, mm
Look = Literal["clear", "dark", "milky", "metal in it"]


class Valve(Declared):
    """One direction's valve, as it lies on the bench."""

    holes_mm: Annotated[tuple[Positive, ...], described(
        "Bleed holes, one number each.", [1.2, 1.2], "Try drill shanks until one just goes in.", usual=(0.2, 6))] = Field(
        default=(), strict=False)  # fmt: skip
    shims_mm: Annotated[tuple[Shim, ...], described(
        "Shims from the piston out: outer diameter and thickness.", [[18.0, 0.15], [16.0, 0.15]],
        "Lay them out in order; measure each with a micrometer.")] = Field(default=(), strict=False)  # fmt: skip
    spring_rate_n_mm: Annotated[Positive | None, described(
        "Rate of the valve's spring.", 12.0, "Load it on a scale by two known lengths.", usual=(0.5, 200))] = None  # fmt: skip
    preload_mm: Annotated[NotNegative | None, described(
        "How far the spring is pressed when shut.", 2.5, "Free length less length in place.", usual=(0, 20))] = None  # fmt: skip
    clicks: Annotated[int | None, described(
        "Setting, counted from fully closed.", 8, "Turn it in gently until it stops, counting.", unit="1")] = None  # fmt: skip


class Build(Declared):
    """The valves of a unit."""

    rebound: Valve = Valve()
    compression: Valve = Valve()


class OilWork(Declared):
    """Oil that came out and went in."""

    out_ml: Annotated[NotNegative | None, described(
        "Volume that came out.", 210.0, "Drain into a measuring glass, stroke the rod until no more comes.", usual=(5, 3000))] = None  # fmt: skip
    out_g: Annotated[NotNegative | None, described(
        "Or its mass.", 181.0, "Weigh the glass before and after.", usual=(5, 3000))] = None  # fmt: skip
    look: Annotated[Look | None, described("How it looks.", "dark", "Hold it against the light.")] = None
    in_ml: Annotated[NotNegative | None, described(
        "Volume that went in.", 245.0, "Fill from a measuring glass; take off what is left.", usual=(5, 3000))] = None  # fmt: skip
    in_g: Annotated[NotNegative | None, described(
        "Or its mass.", 211.0, "Weigh the unit before and after.", usual=(5, 3000))] = None  # fmt: skip
    grade: Annotated[str | None, described("What it is.", "light (made up)", "Read it off the can.")] = None


class Work(Declared):
    """A strip-down and what was built, for one unit."""

    rod_runout_mm: Annotated[NotNegative | None, described(
        "Run-out of the rod.", 0.04, "Turn it on V-blocks under a dial gauge; take the whole swing.", usual=(0, 1))] = None  # fmt: skip
    rod_surface: Annotated[str | None, described(
        "The rod's surface.", "light scratches above the seal", "Pull a fingernail along it.")] = None  # fmt: skip
    bore_mm: Annotated[Annotated[FiniteFloat, Field(gt=0, le=500)] | None, described(
        "Bore at its widest.", 27.06, "Measure in three places, twice each.")] = None  # fmt: skip
    bushes: Annotated[str | None, described("Bushes and eyes.", "rod guide worn oval", "Rock the rod sideways.")] = None
    gas_bar: Annotated[Annotated[FiniteFloat, Field(ge=0, le=100)] | None, described(
        "Gas charge as built, over the air.", 15.0, "Read it off the filling gauge, rod in its place of filling.")] = None  # fmt: skip
    parts: Annotated[tuple[str, ...], described(
        "Parts used.", ["rod seal 12.4", "guide bush"], "Write down each with its number.")] = Field(default=(), strict=False)  # fmt: skip
    notes: Annotated[str, described("Anything else.", "foot valve dirty, cleaned", "In your own words.")] = ""
    oil: OilWork = OilWork()
    as_found: Build = Build()
    as_built: Build = Build()


class WorkSpec(Declared):
    """A file with the work on one unit."""

    work: Work
