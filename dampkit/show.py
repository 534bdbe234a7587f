"""How what was worked out shows itself: DataFrames, figures, a few lines. Asked by the objects themselves, so that

a result can be seen without its room knowing the rooms after it; those are imported when they are asked.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import pandas as pd
    from plotly.graph_objects import Figure

    from dampkit.outcome.result import Result
    from dampkit.outcome.vehicle_record import NeedResult


def frames(result: Result | NeedResult) -> dict[str, pd.DataFrame]:
    from dampkit.outcome.result import Result
    from dampkit.report.frames import frames as made
    from dampkit.report.frames import need_frames

    return made(result) if isinstance(result, Result) else need_frames(result)


def figures(result: Result | NeedResult) -> dict[str, Figure]:
    from dampkit.outcome.result import Result
    from dampkit.report.notebook import figures as made
    from dampkit.report.notebook import need_figures

    return made(result) if isinstance(result, Result) else need_figures(result)


def html(result: Result) -> str:
    from dampkit.report.notebook import html as made

    return made(result)


def brief(result: Result | NeedResult) -> str:
    from dampkit.outcome.result import Result
    from dampkit.report.notebook import brief as made
    from dampkit.report.notebook import need_brief

    return made(result) if isinstance(result, Result) else need_brief(result)
