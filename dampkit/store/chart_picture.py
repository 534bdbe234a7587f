"""How a number stands over time, with the limits of its chart where it has them."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from dampkit.quantities import Array
from dampkit.report.picture import Line, Picture, Points
from dampkit.report.svg import Size
from dampkit.store.control_chart import Chart

SMALL = Size(width=340.0, height=230.0, text=12.5, ticks=4)  # of several beside each other


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
