"""costs.toml: what each course costs in this workshop. No price is built in; a course without a table is not weighed."""

from typing import Annotated, Literal, get_args

from pydantic import AfterValidator, Field, FiniteFloat

from dampkit.bench.declared import Declared, NotNegative
from dampkit.bench.described import described, section

# `rechrome`, `new_rod` and `sleeve` are a rebuild with that work in it, all of its costs included
CourseName = Literal["adjust", "rebuild", "rechrome", "new_rod", "sleeve", "new", "exchange"]


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


MONEY = "money"
LEDGER = "Take it from the last jobs of this kind; a guess as [low, likely, high] will do."


class Labour(Declared):
    """What an hour costs."""

    rate_per_hour: Annotated[Amount, described(
        "Cost of an hour's work, overhead included.", 60.0, "Ask whoever keeps the books.", unit="money/h")]  # fmt: skip


class CourseSpec(Declared):
    """One course and its costs, each one number or [low, likely, high]."""

    hours: Annotated[Amount, described("Hours of work.", [1.0, 2.0, 4.0], LEDGER, unit="h", usual=(0, 100))] = 0.0
    parts: Annotated[Amount, described("Parts.", 45.0, LEDGER, unit=MONEY)] = 0.0
    machining: Annotated[Amount, described("Work that is given out.", 0.0, LEDGER, unit=MONEY)] = 0.0
    price: Annotated[
        Amount, described("Price of the unit, where one is bought.", 180.0, "Ask the supplier.", unit=MONEY)
    ] = 0.0
    days: Annotated[NotNegative | None, described(
        "Days until it is done; told, not priced.", 5.0, "Ask the supplier, or see the last jobs.", unit="days", usual=(0, 400))] = None  # fmt: skip
    warranty_months: Annotated[NotNegative | None, described(
        "Warranty; told, not priced: the come-back probability is over it.", 12.0, "See your terms.", usual=(0, 120))] = None  # fmt: skip
    comeback_probability: Annotated[Probability, described(
        "That the unit comes back within the warranty.", 0.05, "Count come-backs over jobs done: 1 of 20 is 0.05.")] = 0.0  # fmt: skip
    comeback_cost: Annotated[Amount | None, described(
        "What a come-back costs the workshop; without it, the course done once more.", 150.0, LEDGER, unit=MONEY)] = None  # fmt: skip
    fails_probability: Annotated[Probability, described(
        "That the work proves impossible once begun; what was spent is then lost and the unit replaced.", 0.1,
        "Count those given up over those begun.")] = 0.0  # fmt: skip


class CostSpec(Declared):
    """What each course costs in this workshop; a course without a table is not weighed."""

    currency: Annotated[str, described("What the money is called.", "EUR", "Write it as on your bills.")] = "money"
    labour: Labour
    adjust: Annotated[CourseSpec | None, section("Setting the unit as it is.")] = None
    rebuild: Annotated[CourseSpec | None, section("Opening it, with new seals, oil and small parts.")] = None
    rechrome: Annotated[CourseSpec | None, section("A rebuild with the rod rechromed, all of it together.")] = None
    new_rod: Annotated[CourseSpec | None, section("A rebuild with a new rod, all of it together.")] = None
    sleeve: Annotated[CourseSpec | None, section("A rebuild with the bore sleeved, all of it together.")] = None
    new: Annotated[CourseSpec | None, section("A new unit.")] = None
    exchange: Annotated[CourseSpec | None, section("An exchange unit.")] = None

    @property
    def given(self) -> dict[CourseName, CourseSpec]:
        """The courses that have a table."""
        return {name: course for name in get_args(CourseName) if (course := getattr(self, name)) is not None}
