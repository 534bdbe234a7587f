"""costs.toml: what each course costs in this workshop. No price is built in; a course without a table is not weighed."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import AfterValidator, Field, FiniteFloat

from dampkit.bench.declared import Declared, NotNegative

# `rechrome`, `new_rod` and `sleeve` are a rebuild with that work in it, all of its costs included
CourseName = Literal["adjust", "rebuild", "rechrome", "new_rod", "sleeve", "new", "exchange"]
COURSES: tuple[CourseName, ...] = ("adjust", "rebuild", "rechrome", "new_rod", "sleeve", "new", "exchange")


def _rises(value: tuple[float, ...] | float) -> tuple[float, ...] | float:
    if isinstance(value, tuple) and not value[0] <= value[1] <= value[2]:
        raise ValueError("[low, likely, high], rising")
    return value


Number = Annotated[FiniteFloat, Field(ge=0)]
Amount = Annotated[
    Number | Annotated[tuple[Number, Number, Number], Field(strict=False)], AfterValidator(_rises)
]  # one number, or [low, likely, high]
Share = Annotated[FiniteFloat, Field(ge=0, le=1)]
Probability = Annotated[Share | Annotated[tuple[Share, Share, Share], Field(strict=False)], AfterValidator(_rises)]


class Labour(Declared):
    rate_per_hour: Amount


class CourseSpec(Declared):
    """Of one course. `comeback_cost` is what a come-back costs the workshop; absent: the course done once more.

    `fails_probability`: that the work turns out not to be possible once it is begun; what was spent is then lost and
    the unit is replaced. `warranty_months` is told, not priced: the come-back probability is over it.
    """

    hours: Amount = 0.0
    parts: Amount = 0.0
    machining: Amount = 0.0
    price: Amount = 0.0
    days: NotNegative | None = None
    warranty_months: NotNegative | None = None
    comeback_probability: Probability = 0.0
    comeback_cost: Amount | None = None
    fails_probability: Probability = 0.0


class CostSpec(Declared):
    currency: str = "money"
    labour: Labour
    adjust: CourseSpec | None = None
    rebuild: CourseSpec | None = None
    rechrome: CourseSpec | None = None
    new_rod: CourseSpec | None = None
    sleeve: CourseSpec | None = None
    new: CourseSpec | None = None
    exchange: CourseSpec | None = None

    @property
    def given(self) -> dict[CourseName, CourseSpec]:
        """The courses that have a table."""
        found: dict[CourseName, CourseSpec] = {}
        for name in COURSES:
            course: CourseSpec | None = getattr(self, name)
            if course is not None:
                found[name] = course
        return found
