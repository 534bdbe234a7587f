"""What a result can show of itself; how is for the rooms after this one, by `dampkit.show`."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import pandas as pd
    from plotly.graph_objects import Figure

    from dampkit.outcome.result import Result
    from dampkit.outcome.vehicle_record import NeedResult


class Shown:
    """Mixed into results that have tables and pictures."""

    def frames(self: Result | NeedResult) -> dict[str, pd.DataFrame]:  # type: ignore[misc]
        """Every number as a DataFrame, by name: SI, the unit is the tail of each column's name.

        Of a test: `measures` (each value with its 95 % interval), `curves`, `points`, `readings`, `stages`, `loops`,
        `reference`, `faults`, `evidence`, `not_looked_for`, `ratios`, `coverage`, `quality`, `requirements`, `rows`.
        Of a vehicle's needs: `need`, `facts`. Every name and column is always there; one without rows holds nothing of the kind.
        """
        from dampkit.show import frames

        return frames(self)

    def figures(self: Result | NeedResult) -> dict[str, Figure]:  # type: ignore[misc]
        """The pictures of the page as plotly figures, by their ids there (`first` or `force` first), in its colours."""
        from dampkit.show import figures

        return figures(self)

    def __repr__(self: Result | NeedResult) -> str:  # type: ignore[misc]
        """A few lines; `to_dict()` has everything."""
        from dampkit.show import brief

        return brief(self)

    __str__ = __repr__
