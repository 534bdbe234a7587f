"""The page of a bench: whether it may be believed, its calibration, and its drift by the master damper."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from dampkit.report.picture import Axis, Picture
from dampkit.report.svg import Size, svg
from dampkit.store.benches import BenchState, DailyCheck, drift
from dampkit.store.pages import rendered, with_chart

if TYPE_CHECKING:
    from dampkit.outcome.workshop import Letterhead

MOST = 250  # daily checks in the table of the page, about a year's
BELIEVED = {True: "may be believed", False: "is not to be believed", None: "not established"}
SIZE = Size(width=680.0, height=260.0, text=12.5, ticks=6)


def render_bench(state: BenchState, checks: Sequence[DailyCheck], head: Letterhead | None = None) -> str:
    view = {
        "state": state,
        "believed": BELIEVED[state.believed],
        "remarks": state.quality(),
        "channels": () if state.calibrated is None else state.calibrated.channels.items(),
        "checks": checks[: -MOST - 1 : -1],
        "all_checks": len(checks),
        "drift": drift_sentence(checks),
        "drawn": svg(_picture(checks), SIZE) if checks else "",
    }
    return rendered("bench.html", view, head)


def drift_sentence(checks: Sequence[DailyCheck]) -> str:
    """What the daily checks say about the bench itself, in one plain sentence."""
    if not checks:
        return "Drift: no daily check with a master damper is on record."
    values, chart = drift(tuple(checks))
    if chart is None:
        return f"Drift: {len(values)} check{'' if len(values) == 1 else 's'}, too few or too alike for limits; the last reads {values[-1]:+.1f} %."
    if chart.steady:
        return f"Drift: steady over {len(values)} checks, {chart.low:+.1f} to {chart.high:+.1f} %; the last reads {values[-1]:+.1f} %."
    first = min((*chart.out, *chart.jumps, *chart.runs))
    return f"Drift: not steady; the check of {checks[first].done_on} is the first that stands out, the last reads {values[-1]:+.1f} %."


def _picture(checks: Sequence[DailyCheck]) -> Picture:
    values, chart = drift(tuple(checks))
    title = "What the master damper reads off its record"
    alt = f"{title}, check by check. {drift_sentence(checks)}"
    bare = Picture("bench-drift", title, alt, Axis("check in order"), Axis("off its record", "%"), ())
    return with_chart(bare, values, chart)
