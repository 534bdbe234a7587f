"""What a picture is made of, before anyone decides how to draw it.

A picture is declared once and drawn twice: as still SVG that needs no script, and as data for plotly.
An `ink` is the name of a colour in the style sheet, so that light, dark and paper each have their own.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np

from dampkit.quantities import Array

Dash = Literal["solid", "dash", "dot", "dashdot"]
Marker = Literal["circle", "square", "diamond"]


@dataclass(frozen=True)
class Line:
    """A curve through the points (x, y), arrays of one shape."""

    name: str
    x: Array
    y: Array
    ink: str
    dash: Dash = "solid"


@dataclass(frozen=True)
class Points:
    """Separate marks; `low` and `high`, where given, are the ends of an upright bar through each."""

    name: str
    x: Array
    y: Array
    ink: str
    marker: Marker = "circle"
    low: Array | None = None
    high: Array | None = None
    size: float = 3.0
    hollow: bool = False


@dataclass(frozen=True)
class Area:
    """The band between two curves over x."""

    name: str
    x: Array
    low: Array
    high: Array
    ink: str
    hatched: bool = False


Layer = Line | Points | Area


@dataclass(frozen=True)
class Word:
    """A word written into the picture at (x, y) in the picture's own units."""

    text: str
    x: float
    y: float


@dataclass(frozen=True)
class Picture:
    """`alt` says in words what the picture shows; `id` is fixed so that two renderings are the same bytes."""

    id: str
    title: str
    alt: str
    x_axis: str
    y_axis: str
    layers: tuple[Layer, ...]
    words: tuple[Word, ...] = ()
    view: tuple[float, float] | None = None  # lowest and highest y shown; what lies beyond is cut off at the edge

    def legend(self) -> tuple[Layer, ...]:
        """The first layer of each name, in drawing order."""
        first: dict[str, Layer] = {}
        for layer in self.layers:
            first.setdefault(layer.name, layer)
        return tuple(first.values())

    def extent(self) -> tuple[float, float, float, float]:
        """Smallest and largest x and y to show: all that is drawn, and zero, unless a view is set."""
        x = np.concatenate([np.zeros(1), *(layer.x for layer in self.layers)])
        y = np.concatenate([np.zeros(1), *(_heights(layer) for layer in self.layers)])
        low, high = self.view or (float(y.min()), float(y.max()))
        return float(x.min()), float(x.max()), low, high


def _heights(layer: Layer) -> Array:
    if isinstance(layer, Area):
        return np.concatenate([layer.low, layer.high])
    if isinstance(layer, Points) and layer.low is not None and layer.high is not None:
        return np.concatenate([layer.y, layer.low, layer.high])
    return layer.y
