"""The page of a unit's years: each followed number over time with its interval, and every test in one table."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from typing import TYPE_CHECKING, Any

import numpy as np

from dampkit.quantities import Estimate, with_interval
from dampkit.report.picture import Axis, Picture, Points
from dampkit.report.svg import svg
from dampkit.store.look_up import Past
from dampkit.store.measures import MEASURES
from dampkit.store.pages import SMALL, rendered
from dampkit.store.trend import DAYS_A_YEAR, Trend, trend

if TYPE_CHECKING:
    from dampkit.outcome.workshop import Letterhead


def render_history(serial: str, past: Sequence[Past], head: Letterhead | None = None) -> str:
    """The same history always gives the same page."""
    return rendered("history.html", _view(serial, past), head)


def followed(past: Sequence[Past], name: str) -> tuple[list[str], list[Estimate]]:
    """Days and values of the tests that established a number."""
    tests = [test for test in past if name in test.measures]
    return [test.entry.tested_on for test in tests], [test.measures[name] for test in tests]


def sentence(name: str, days: Sequence[str], found: Trend) -> str:
    """What the tests show about a number, in one plain sentence."""
    if not days:
        return "No test established it."
    if found.per_year is None:
        return f"{len(days)} test{'s' if len(days) > 1 else ''}; no trend: {found.why_not}."
    unit = f"{MEASURES[name].unit} a year"
    if found.course == "no change shown":
        return (
            f"No change shown over {len(days)} tests: {with_interval(found.per_year, unit)}; the interval holds zero."
        )
    size = found.per_year if found.course == "rises" else found.per_year.scaled(-1.0)
    return f"It {found.course} by {with_interval(size, unit)}, from {len(days)} tests."


def _view(serial: str, past: Sequence[Past]) -> dict[str, Any]:
    return {
        "serial": serial,
        "past": past,
        "figures": [_figure(name, past) for name in MEASURES],
        "columns": [f"{measure.title} ({measure.unit})" for measure in MEASURES.values()],
        "lines": [(test.entry, [_cell(test, name) for name in MEASURES]) for test in past],
    }


def _cell(test: Past, name: str) -> str:
    return with_interval(test.measures.get(name), "")


def _figure(name: str, past: Sequence[Past]) -> dict[str, Any]:
    days, values = followed(past, name)
    said = sentence(name, days, trend(days, values) if days else Trend(None))
    drawn = svg(_picture(name, days, values, said), SMALL) if days else ""
    return {"title": MEASURES[name].title, "sentence": said, "drawn": drawn}


def _picture(name: str, days: Sequence[str], values: Sequence[Estimate], said: str) -> Picture:
    measure, first = MEASURES[name], date.fromisoformat(days[0])
    points = Points(
        measure.title,
        np.array([(date.fromisoformat(day) - first).days / DAYS_A_YEAR for day in days]),
        np.array([v.value for v in values]),
        "curve",
        low=np.array([v.low for v in values]),
        high=np.array([v.high for v in values]),
        size=4.0,
    )
    alt = f"{measure.title} of {len(days)} tests over the years, with 95 % intervals. {said}"
    return Picture(
        f"over-years-{name.replace('_', '-')}",
        measure.title,
        alt,
        Axis(f"years since {days[0]}"),
        Axis(measure.unit),
        (points,),
    )
