"""What every record is made from. What is not a number here says so: infinities and unknown keys are refused."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Annotated, Any, Literal, Self

from pydantic import BaseModel, ConfigDict, Field, model_validator

from dampkit.bench.described import described, with_units

DirectionName = Literal["rebound", "compression"]
Answer = Literal["in", "out", "not established"]
Count = Annotated[int, Field(ge=0)]
Share = Annotated[float, Field(ge=0, le=1)]
AtLeastZero = Annotated[float, Field(ge=0)]
AS_UNIT_SAYS = "as `unit` says"
MONEY = "money"
SHOWN = 3  # values of a list that are printed


@dataclass(frozen=True)
class _Many:
    count: int

    def __repr__(self) -> str:
        return f"<{self.count} values>"


class Record(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid", allow_inf_nan=False, json_schema_extra=with_units)

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
