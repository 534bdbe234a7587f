"""What a person writes down about a bench: a calibration of its channels, as read against known weights and lengths."""

from typing import Annotated, Self

from pydantic import Field, FiniteFloat, model_validator

from dampkit.bench.declared import Declared, NotNegative, Positive
from dampkit.bench.described import described
from dampkit.quantities import GRAVITY_M_S2
from dampkit.store.record import Day


class Force(Declared):
    """One weight hung on the cell: what it weighs and what the bench reads."""

    mass_kg: Annotated[Annotated[FiniteFloat, Field(ge=0, le=2000)], described(
        "Mass of the weights on the cell; 0 is the empty cell.", 20.0, "Read it off the weights' certificate.")]  # fmt: skip
    read_n: Annotated[FiniteFloat, described(
        "What the bench reads then, as its log would have it.", 196.3, "Wait until it stands still, then read.")]  # fmt: skip


class Travel(Declared):
    """One place of the carriage: what a gauge says and what the bench says."""

    gauge_mm: Annotated[FiniteFloat, described(
        "Place by the gauge.", 25.0, "Put a dial gauge or gauge blocks against the carriage.")]  # fmt: skip
    read_mm: Annotated[FiniteFloat, described("What the bench reads there.", 25.03, "Read it at the same place.")]


class Warmth(Declared):
    """One temperature: what a thermometer says and what the bench says."""

    thermometer_c: Annotated[FiniteFloat, described(
        "By a thermometer that is known.", 21.4, "Hold both into the same stirred water.")]  # fmt: skip
    read_c: Annotated[FiniteFloat, described("What the bench reads then.", 22.0, "Read it when it stands still.")]


class Flex(Declared):
    """One pull on a rigid link in place of the damper: the travel that the bench shows then is its own."""

    force_n: Annotated[FiniteFloat, described("Force on the rigid link.", 2000.0, "Read it off the bench.")]
    travel_mm: Annotated[FiniteFloat, described("Travel read meanwhile.", 0.33, "Read it off the bench.")]


class Calibration(Declared):
    """A bench held against weights, lengths and temperatures that are known."""

    on: Annotated[Day, described("Day of the calibration.", "2025-03-01", "Write down the day.")]
    due: Annotated[
        Day, described("Day by which the next is due.", "2026-03-01", "A year is usual, sooner after repairs.")
    ]
    by: Annotated[str, described("Who did it.", "made-up fitter", "Write down the name.")]
    gravity_m_s2: Annotated[Annotated[FiniteFloat, Field(ge=9.76, le=9.84)], described(
        "Local acceleration of free fall.", 9.81, "Look it up for your latitude; leave it out for the standard one.")] = GRAVITY_M_S2  # fmt: skip
    weights_percent: Annotated[NotNegative, described(
        "How far the weights may be off, 95 %.", 0.05, "Take it from their certificate.", usual=(0.0005, 1))] = 0.05  # fmt: skip
    gauge_mm: Annotated[NotNegative, described(
        "How far the gauge may be off, 95 %.", 0.01, "Take it from its certificate.", usual=(0.0001, 0.2))] = 0.01  # fmt: skip
    force_limit_percent: Annotated[Positive, described(
        "The most that a force may be off.", 1.0, "Class 1 of ISO 7500-1 is 1 %.", usual=(0.2, 5))] = 1.0  # fmt: skip
    travel_limit_mm: Annotated[Positive, described(
        "The most that a place may be off.", 0.1, "A tenth of a millimetre is usual.", usual=(0.01, 1))] = 0.1  # fmt: skip
    temperature_limit_k: Annotated[Positive, described(
        "The most that a temperature may be off.", 3.0, "Three kelvin are usual.", usual=(0.2, 10))] = 3.0  # fmt: skip
    force: Annotated[tuple[Force, ...], described(
        "Weights, loading and unloading, each at least once; the empty cell first.", [{"mass_kg": 0.0, "read_n": 0.4}, {"mass_kg": 20.0, "read_n": 196.3}, {"mass_kg": 50.0, "read_n": 490.5}],
        "Hang them one after the other, then take them off again.")] = Field(strict=False, min_length=3)  # fmt: skip
    travel: Annotated[tuple[Travel, ...], described(
        "Places over the stroke.", [{"gauge_mm": 0.0, "read_mm": 0.0}], "Stop at five places or more.")] = Field(
        default=(), strict=False)  # fmt: skip
    temperature: Annotated[tuple[Warmth, ...], described(
        "Temperatures.", [{"thermometer_c": 21.4, "read_c": 22.0}], "Cold and warm water are enough.")] = Field(
        default=(), strict=False)  # fmt: skip
    flex: Annotated[tuple[Flex, ...], described(
        "Pulls on a rigid link.", [{"force_n": 2000.0, "travel_mm": 0.33}], "Bolt a solid bar in place of the damper.")] = (
        Field(default=(), strict=False))  # fmt: skip

    @model_validator(mode="after")
    def _due_after(self) -> Self:
        if self.due <= self.on:
            raise ValueError(f"due {self.due}, on {self.on}; expected a day after the calibration")
        if max(weight.mass_kg for weight in self.force) <= 0:
            raise ValueError("no weight above 0 kg in [[calibration.force]]; expected at least one")
        return self


class CalibrationSpec(Declared):
    """A file with one calibration."""

    calibration: Calibration
