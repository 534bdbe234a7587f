"""What a picture is made of, before anyone decides how to draw it.

A picture is declared once and drawn twice: as still SVG that needs no script, and as data for plotly.
An `ink` is the name of a colour in the style sheet, so that light, dark and paper each have their own.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Literal

import numpy as np

from dampkit.frozen import frozen
from dampkit.quantities import Array
from dampkit.report.numbers import imperial_units

Dash = Literal["solid", "dash", "dot", "dashdot"]
Marker = Literal["circle", "square", "diamond"]


@frozen
class Line:
    """A curve through the points (x, y), arrays of one shape."""

    name: str
    x: Array
    y: Array
    ink: str
    dash: Dash = "solid"


@frozen
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


@frozen
class Area:
    """The band between two curves over x."""

    name: str
    x: Array
    low: Array
    high: Array
    ink: str
    hatched: bool = False


Layer = Line | Points | Area


@frozen
class Word:
    """A word written into the picture at (x, y) in the picture's own units."""

    text: str
    x: float
    y: float


@frozen
class Span:
    """A distance along x, drawn at height y as a line with ends; the words stand beyond its second end."""

    text: str
    x_from: float
    x_to: float
    y: float


@frozen
class Axis:
    """What is drawn along it, its unit, and what else is said about it."""

    name: str
    unit: str = ""
    more: str = ""

    @property
    def text(self) -> str:
        return f"{self.name} ({self.unit}){self.more}" if self.unit else self.name + self.more


@frozen
class Picture:
    """`alt` says in words what the picture shows; `id` is fixed so that two renderings are the same bytes."""

    id: str
    title: str
    alt: str
    x_axis: Axis
    y_axis: Axis
    layers: tuple[Layer, ...]
    words: tuple[Word, ...] = ()
    view: tuple[float, float] | None = None  # lowest and highest y shown; what lies beyond is cut off at the edge
    spans: tuple[Span, ...] = ()
    near: bool = False  # the axes fit what is drawn and need not start at zero

    def legend(self) -> tuple[Layer, ...]:
        """The first layer of each name, in drawing order."""
        first: dict[str, Layer] = {}
        for layer in self.layers:
            first.setdefault(layer.name, layer)
        return tuple(first.values())

    def extent(self) -> tuple[float, float, float, float]:
        """Smallest and largest x and y to show: all that is drawn, and zero unless `near` or a view is set."""
        zero = np.zeros(0 if self.near else 1)
        x = np.concatenate([zero, *(layer.x for layer in self.layers)])
        y = np.concatenate([zero, *(_heights(layer) for layer in self.layers)])
        low, high = self.view or (float(y.min()), float(y.max()))
        return float(x.min()), float(x.max()), low, high


def _heights(layer: Layer) -> Array:
    if isinstance(layer, Area):
        return np.concatenate([layer.low, layer.high])
    if isinstance(layer, Points) and layer.low is not None and layer.high is not None:
        return np.concatenate([layer.y, layer.low, layer.high])
    return layer.y


def in_imperial(picture: Picture) -> Picture:
    """The same picture on axes in pounds and inches; its words are made by the writer of the page."""
    (x_axis, x), (y_axis, y) = _turned(picture.x_axis), _turned(picture.y_axis)
    return replace(
        picture,
        x_axis=x_axis,
        y_axis=y_axis,
        layers=tuple(_scaled(layer, x, y) for layer in picture.layers),
        words=tuple(replace(word, x=word.x * x, y=word.y * y) for word in picture.words),
        spans=tuple(replace(s, x_from=s.x_from * x, x_to=s.x_to * x, y=s.y * y) for s in picture.spans),
        view=None if picture.view is None else (picture.view[0] * y, picture.view[1] * y),
    )


def _turned(axis: Axis) -> tuple[Axis, float]:
    """The axis in the other unit and the factor that goes with it; as it is where it has no such unit."""
    if axis.unit not in imperial_units():
        return axis, 1.0
    name, factor, _ = imperial_units()[axis.unit]
    return replace(axis, unit=name), factor


def _scaled(layer: Layer, x: float, y: float) -> Layer:
    if isinstance(layer, Area):
        return replace(layer, x=layer.x * x, low=layer.low * y, high=layer.high * y)
    if isinstance(layer, Points):
        low, high = (None if end is None else end * y for end in (layer.low, layer.high))
        return replace(layer, x=layer.x * x, y=layer.y * y, low=low, high=high)
    return replace(layer, x=layer.x * x, y=layer.y * y)
