"""What the pages of the store share: their templates, the workshop at the head, and numbers over time with their limits."""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from dampkit.quantities import Array
from dampkit.report import document
from dampkit.report.picture import Line, Picture, Points
from dampkit.report.svg import Size
from dampkit.store.control_chart import Chart

if TYPE_CHECKING:
    from jinja2 import Environment

    from dampkit.outcome.workshop import Letterhead

TEMPLATES = Path(__file__).parent / "templates"
SMALL = Size(width=340.0, height=230.0, text=12.5, ticks=4)  # of several beside each other


def rendered(template: str, view: dict[str, Any], head: Letterhead | None) -> str:
    """`head` is the workshop that stands at the head of the page; None leaves it out."""
    return _environment().get_template(template).render(**view, letterhead=head)


@cache
def _environment() -> Environment:
    return document.environment(TEMPLATES, document.TEMPLATES)


def with_chart(bare: Picture, values: Array, chart: Chart | None) -> Picture:
    """The picture with its values in order, shape (n,), and middle and limits behind them."""
    ends, heights = np.array([1.0, float(values.size)]), []
    if chart is not None:
        heights = [("middle", chart.middle), ("limits", chart.low), ("limits", chart.high)]
    lines = [
        Line(name, ends, np.full(2, height), "need", "solid" if name == "middle" else "dash")
        for name, height in heights
    ]
    return replace(bare, layers=(*lines, Points(bare.title, np.arange(1.0, values.size + 1.0), values, "curve")))
