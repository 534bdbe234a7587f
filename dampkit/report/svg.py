"""Still pictures: a small line-plot writer for SVG, legible on a phone and on paper without any script."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import NamedTuple

import numpy as np
from markupsafe import Markup, escape

from dampkit.frozen import frozen
from dampkit.quantities import Array
from dampkit.report.picture import Area, Dash, Layer, Line, Picture, Points, Span

DASHES: dict[Dash, str] = {"solid": "none", "dash": "8 4", "dot": "2 4", "dashdot": "9 4 2 4"}


@frozen
class Size:
    """Drawing size in view-box units; the page scales it to the column."""

    width: float = 440.0
    height: float = 350.0
    text: float = 13.0
    ticks: int = 6
    stroke: float = 2.0


MANY = 20  # marks of one layer from which on they share one outline
WIDE = Size()
FLAT = Size(height=310.0)  # of the first screen, where there is little room
SMALL = Size(width=230.0, height=190.0, text=12.5, ticks=4, stroke=1.6)


class Frame(NamedTuple):
    """The plotting rectangle and the range of numbers that fills it."""

    left: float
    right: float
    top: float
    bottom: float
    x: tuple[float, float]
    y: tuple[float, float]

    def across(self, x: Array) -> Array:
        return self.left + (x - self.x[0]) / (self.x[1] - self.x[0]) * (self.right - self.left)

    def up(self, y: Array) -> Array:
        return self.bottom - (y - self.y[0]) / (self.y[1] - self.y[0]) * (self.bottom - self.top)


def ticks(low: float, high: float, about: int) -> Array:
    """Round numbers (1, 2 or 5 times a power of ten apart) inside [low, high], roughly `about` of them."""
    step = _step(low, high, about)
    first, last = math.ceil(low / step - 1e-9), math.floor(high / step + 1e-9)
    return np.arange(first, last + 1, dtype=np.float64) * step


def svg(picture: Picture, size: Size = WIDE) -> Markup:
    """The picture as one `<svg>` element with title and description for a screen reader."""
    frame = _frame(picture, size)
    name = escape(picture.id)
    body = [
        f'<svg xmlns="http://www.w3.org/2000/svg" class="plot" role="img" viewBox="0 0 {size.width:g} {size.height:g}"'
        f' font-size="{size.text:g}" aria-labelledby="{name}-title {name}-desc">',
        f'<title id="{name}-title">{escape(picture.title)}</title><desc id="{name}-desc">{escape(picture.alt)}</desc>',
        _definitions(picture, frame),
        _grid(frame, size),
        f'<g clip-path="url(#{name}-clip)">',
        *(_layer(picture.id, n, layer, frame, size) for n, layer in enumerate(picture.layers)),
        "</g>",
        *(_span(span, frame, size) for span in picture.spans),
        _words(picture, frame),
        _axis_names(picture, frame, size),
        "</svg>",
    ]
    return Markup("".join(body))


def swatch(picture: Picture, layer: Layer) -> Markup:
    """A small sample of a layer for the legend beside the picture; says nothing to a screen reader."""
    frame = Frame(0, 34, 0, 16, (0.0, 1.0), (0.0, 1.0))
    x, level = np.array([0.05, 0.95]), np.array([0.5, 0.5])
    sample: Layer
    if isinstance(layer, Area):
        sample = Area("", x, level - 0.4, level + 0.4, layer.ink, layer.hatched)
    elif isinstance(layer, Line):
        sample = Line("", x, level, layer.ink, layer.dash)
    else:
        low, high = (None, None) if layer.low is None else (level[:1] - 0.45, level[:1] + 0.45)
        sample = replace(layer, x=level[:1], y=level[:1], low=low, high=high)
    number = picture.layers.index(layer) if isinstance(layer, Area) else 0
    drawn = _layer(picture.id, number, sample, frame, WIDE)
    return Markup(f'<svg class="swatch" aria-hidden="true" viewBox="0 0 34 16">{drawn}</svg>')


def _step(low: float, high: float, about: int) -> float:
    raw = (high - low) / about
    size = 10.0 ** math.floor(math.log10(raw))
    return float(next(m * size for m in (1, 2, 5, 10) if m * size >= raw * (1 - 1e-9)))


def _frame(picture: Picture, size: Size) -> Frame:
    x_low, x_high, y_low, y_high = picture.extent()
    x_high = x_high if x_high > x_low else x_low + 1.0
    y_high = y_high if y_high > y_low else y_low + 1.0
    x_room = 0.02 * (x_high - x_low)
    room = 0.05 * (y_high - y_low)
    y = (y_low - room if y_low < 0 or picture.near else y_low, y_high + room)
    x = (x_low - x_room if x_low != 0 else 0.0, x_high + x_room)
    widest = max(len(label) for label in _labels(ticks(*y, size.ticks), _step(*y, size.ticks)))
    left = size.text * (0.62 * widest + 0.9)
    return Frame(left, size.width - 0.8 * size.text, 2.0 * size.text, size.height - 3.1 * size.text, x, y)


def _labels(values: Array, step: float) -> list[str]:
    places = max(0, -math.floor(math.log10(step) + 1e-9))
    return [f"{value + 0.0:.{places}f}".replace("-", "\N{MINUS SIGN}") for value in values]


def _grid(frame: Frame, size: Size) -> str:
    x_ticks, y_ticks = ticks(*frame.x, size.ticks), ticks(*frame.y, size.ticks)
    below, left = frame.bottom + 1.2 * size.text, frame.left - 0.4 * size.text
    across, up = frame.across(x_ticks), frame.up(y_ticks)
    ends = f"H{frame.right:.1f}"
    rules = "".join(f"M{frame.left:.1f} {y:.1f}{ends}" for v, y in zip(y_ticks, up, strict=True) if abs(v) > 1e-12)
    rules += "".join(f"M{x:.1f} {frame.top:.1f}V{frame.bottom:.1f}" for x in across)
    zero = "".join(f"M{frame.left:.1f} {y:.1f}{ends}" for v, y in zip(y_ticks, up, strict=True) if abs(v) <= 1e-12)
    y_labels, x_labels = (_labels(t, _step(*r, size.ticks)) for t, r in ((y_ticks, frame.y), (x_ticks, frame.x)))
    beside = [f'<text x="{left:.1f}" y="{y:.1f}">{label}</text>' for y, label in zip(up, y_labels, strict=True)]
    under = [f'<text x="{x:.1f}" y="{below:.1f}">{label}</text>' for x, label in zip(across, x_labels, strict=True)]
    return (
        f'<path class="rule" d="{rules}"/>'
        + (f'<path class="zero" d="{zero}"/>' if zero else "")
        + f'<g class="tick" text-anchor="end" dominant-baseline="middle">{"".join(beside)}</g>'
        + f'<g class="tick" text-anchor="middle">{"".join(under)}</g>'
    )


def _axis_names(picture: Picture, frame: Frame, size: Size) -> str:
    middle = 0.5 * (frame.left + frame.right)
    return (
        f'<text class="axis" x="2" y="{1.1 * size.text:.1f}">{escape(picture.y_axis.text)}</text>'
        f'<text class="axis" text-anchor="middle" x="{middle:.1f}" y="{size.height - 0.6 * size.text:.1f}">'
        f"{escape(picture.x_axis.text)}</text>"
    )


def _words(picture: Picture, frame: Frame) -> str:
    x, y = (frame.across(np.array([w.x for w in picture.words])), frame.up(np.array([w.y for w in picture.words])))
    return "".join(
        f'<text class="word" x="{a:.1f}" y="{b:.1f}">{escape(word.text)}</text>'
        for word, a, b in zip(picture.words, x, y, strict=True)
    )


def _span(span: Span, frame: Frame, size: Size) -> str:
    """A distance with an upright bar at each end; the words stand beyond its second end."""
    a, b = frame.across(np.array([span.x_from, span.x_to]))
    y = float(frame.up(np.array([span.y]))[0])
    from_left = a < b
    side, anchor = (b + 6, "start") if from_left else (b - 6, "end")
    return (
        f'<path fill="none" d="M{a:.1f} {y - 5:.1f}v10M{b:.1f} {y - 5:.1f}v10M{a:.1f} {y:.1f}H{b:.1f}"'
        f' stroke="var(--reference)" stroke-width="{1.4 * size.stroke:g}"/>'
        f'<text class="word" text-anchor="{anchor}" x="{side:.1f}" y="{y + 0.35 * size.text:.1f}">{escape(span.text)}</text>'
    )


def _definitions(picture: Picture, frame: Frame) -> str:
    """The edge that layers are cut off at, and a hatching per hatched band."""
    name = escape(picture.id)
    hatches = [
        f'<pattern id="{name}-hatch-{n}" width="7" height="7" patternUnits="userSpaceOnUse"'
        f' patternTransform="rotate(45)"><path d="M0 0V7" stroke="var(--{layer.ink})" stroke-width="2.2"/></pattern>'
        for n, layer in enumerate(picture.layers)
        if isinstance(layer, Area) and layer.hatched
    ]
    width, height = frame.right - frame.left + 8, frame.bottom - frame.top
    edge = f'<rect x="{frame.left - 4:.1f}" y="{frame.top:.1f}" width="{width:.1f}" height="{height:.1f}"/>'
    return f'<defs><clipPath id="{name}-clip">{edge}</clipPath>{"".join(hatches)}</defs>'


def _layer(picture_id: str, number: int, layer: Layer, frame: Frame, size: Size) -> str:
    if isinstance(layer, Area):
        return _area(f"{escape(picture_id)}-hatch-{number}", layer, frame)
    if isinstance(layer, Line):
        return (
            f'<path fill="none" d="{polyline(frame.across(layer.x), frame.up(layer.y))}" stroke-dasharray="{DASHES[layer.dash]}"'
            f' stroke="var(--{layer.ink})" stroke-width="{size.stroke:g}"/>'
        )
    return _points(f"{escape(picture_id)}-mark-{number}", layer, frame)


def _area(hatch: str, layer: Area, frame: Frame) -> str:
    upper = polyline(frame.across(layer.x), frame.up(layer.high))
    lower = polyline(frame.across(layer.x[::-1]), frame.up(layer.low[::-1]))
    fill = (
        f'fill="url(#{hatch})" fill-opacity=".45"' if layer.hatched else f'fill="var(--{layer.ink})" fill-opacity=".28"'
    )
    return f'<path d="{upper}L{lower[1:]}Z" {fill} stroke="var(--{layer.ink})" stroke-width="1"/>'


def _points(name: str, layer: Points, frame: Frame) -> str:
    x, y = frame.across(layer.x), frame.up(layer.y)
    bars = ""
    if layer.low is not None and layer.high is not None:
        ends = zip(x, frame.up(layer.low), frame.up(layer.high), strict=True)
        path = "".join(f"M{a:.1f} {b:.1f}V{c:.1f}M{a - 3:.1f} {b:.1f}h6M{a - 3:.1f} {c:.1f}h6" for a, b, c in ends)
        bars = f'<path fill="none" d="{path}" stroke="var(--{layer.ink})" stroke-width="1.6"/>'
    if x.size > MANY:
        return bars + _marker_path(name, layer, x, y)
    marks = "".join(f"M{a:.1f} {b:.1f}{_mark(layer)}" for a, b in zip(x, y, strict=True))
    look = _look(layer)
    return f'{bars}<path d="{marks}" {look}/>'


def _marker_path(name: str, layer: Points, x: Array, y: Array) -> str:
    """Many marks as one path with a marker at each corner: a fifth of the size of as many outlines."""
    look = _look(layer)
    box = 2.0 * layer.size + 2.0
    ends = "".join(f' marker-{end}="url(#{name})"' for end in ("start", "mid", "end"))
    return (
        f'<defs><marker id="{name}" markerUnits="userSpaceOnUse" markerWidth="{box:g}" markerHeight="{box:g}" overflow="visible">'
        f'<path d="M0 0{_mark(layer)}" {look}/></marker></defs>'
        f'<path d="{polyline(x, y)}" fill="none" stroke="none"{ends}/>'
    )


def _look(layer: Points) -> str:
    ink = f"var(--{layer.ink})"
    return f'fill="none" stroke="{ink}" stroke-width="1"' if layer.hollow else f'fill="{ink}"'


def _mark(layer: Points) -> str:
    """The outline of one mark as a path relative to its centre."""
    r = layer.size
    if layer.marker == "circle":
        return f"m{-r:g} 0a{r:g} {r:g} 0 1 0 {2 * r:g} 0a{r:g} {r:g} 0 1 0 {-2 * r:g} 0z"
    if layer.marker == "square":
        return f"m{-r:g} {-r:g}h{2 * r:g}v{2 * r:g}h{-2 * r:g}z"
    return f"m0 {-1.3 * r:g}l{1.3 * r:g} {1.3 * r:g}l{-1.3 * r:g} {1.3 * r:g}l{-1.3 * r:g} {-1.3 * r:g}z"


def polyline(x: Array, y: Array) -> str:
    return "M" + " ".join(f"{a:.1f} {b:.1f}".replace(".0", "") for a, b in zip(x, y, strict=True))
