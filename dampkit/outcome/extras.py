"""What a workshop may declare beside the unit and the car: its stock, what was seen on the unit, and its prices."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from dampkit.bench.toml_file import declared

if TYPE_CHECKING:
    from dampkit.outcome.change.stock import Stock
    from dampkit.outcome.costs import CostSpec
    from dampkit.outcome.inspection import InspectionSpec


@dataclass(frozen=True)
class Extras:
    """Each is None where it was not declared."""

    stock: Stock | None = None
    inspection: InspectionSpec | None = None
    costs: CostSpec | None = None


def extras(
    stock: str | Path | Stock | None,
    inspection: str | Path | InspectionSpec | None,
    costs: str | Path | CostSpec | None,
) -> Extras:
    """From TOML files or what was read from them. Raises BadSettings for an unusable one."""
    if stock is None and inspection is None and costs is None:
        return Extras()
    from dampkit.outcome.change.stock import Stock  # each takes a while to import
    from dampkit.outcome.costs import CostSpec
    from dampkit.outcome.inspection import InspectionSpec

    return Extras(declared(stock, Stock), declared(inspection, InspectionSpec), declared(costs, CostSpec))
