"""What every record is made from. What is not a number here says so: infinities and unknown keys are refused."""

import math
from collections.abc import Iterator
from typing import Annotated, Any, Literal, Self

import numpy as np
from pydantic import BaseModel, BeforeValidator, ConfigDict, Field, model_validator

from dampkit.bench.described import described, with_units
from dampkit.frozen import frozen
from dampkit.quantities import Array

DirectionName = Literal["rebound", "compression"]
Answer = Literal["in", "out", "not established"]
Count = Annotated[int, Field(ge=0)]
Share = Annotated[float, Field(ge=0, le=1)]
AtLeastZero = Annotated[float, Field(ge=0)]
AS_UNIT_SAYS = "as `unit` says"
MONEY = "money"
CURVE_DIGITS = 6  # significant digits of stored arrays
SHOWN = 3  # values of a list that are printed


def short(values: Array) -> tuple[float, ...]:
    """Rounded to a few significant digits of the largest, as a stored curve needs no more."""
    largest = float(np.abs(values).max(initial=0.0))
    digits = CURVE_DIGITS - 1 - math.floor(math.log10(largest)) if largest > 0 else 0
    return tuple(np.round(values, digits).tolist())


# A list of numbers; an array is rounded to what it is worth
Numbers = Annotated[
    tuple[float, ...], BeforeValidator(lambda values: short(values) if isinstance(values, np.ndarray) else values)
]


@frozen
class _Many:
    count: int

    def __repr__(self) -> str:
        return f"<{self.count} values>"


class Record(BaseModel):
    model_config = ConfigDict(
        frozen=True,
        extra="forbid",
        allow_inf_nan=False,
        from_attributes=True,
        json_schema_extra=with_units,
        defer_build=True,
    )

    @classmethod
    def of(cls, found: object, **more: Any) -> Self:
        """What it holds under the names of `found`; what is in `more` goes before it, or has other names there."""
        same = {name: getattr(found, name) for name in cls.model_fields if hasattr(found, name)}
        return cls.model_validate({**same, **more})

    def __repr_args__(self) -> Iterator[tuple[str | None, Any]]:
        """A long list is counted and not printed: a part of a result is looked at one a line, too."""
        for name, value in super().__repr_args__():
            long = isinstance(value, tuple) and len(value) > SHOWN
            yield name, _Many(len(value)) if long else value


class Columns(Record):
    """A record of lists that go together: as many values in each. Raises ValueError where they differ."""

    @model_validator(mode="after")
    def _of_one_length(self) -> Self:
        lengths = {name: len(value) for name, value in self if isinstance(value, tuple)}
        if len(set(lengths.values())) > 1:
            raise ValueError("lists of unequal length: " + ", ".join(f"{name} {n}" for name, n in lengths.items()))
        return self


class EstimateRecord(Record):
    """A value with its 95 % interval, in the unit of its key."""

    value: Annotated[float, described("Best estimate.", 124.0, unit="that of the key")]
    low: Annotated[float, described("Lower end of the 95 % interval.", 118.0, unit="that of the key")]
    high: Annotated[float, described("Upper end of the 95 % interval.", 130.0, unit="that of the key")]


def example_of(value: float, low: float, high: float) -> dict[str, Any]:
    """An estimate as an example."""
    return {"value": value, "low": low, "high": high}


def direction_of(what: str) -> Any:
    return described(f"Direction of {what}.", "rebound")
