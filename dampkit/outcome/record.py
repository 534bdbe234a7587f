"""What every record is made from."""

from __future__ import annotations

from typing import Self

from pydantic import BaseModel, ConfigDict, model_validator


class Record(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid", allow_inf_nan=False)


class Columns(Record):
    """A record of lists that go together: as many values in each. Raises ValueError where they differ."""

    @model_validator(mode="after")
    def _of_one_length(self) -> Self:
        lengths = {name: len(value) for name, value in self if isinstance(value, tuple)}
        if len(set(lengths.values())) > 1:
            raise ValueError("lists of unequal length: " + ", ".join(f"{name} {n}" for name, n in lengths.items()))
        return self
