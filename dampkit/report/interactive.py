"""The same pictures as data for plotly, which the page draws only when the reader asks for it.

Colours stay names (`ink:curve`): the page puts in the colour that its light or dark scheme has for them.
"""

from __future__ import annotations

from typing import Any

import numpy as np

from dampkit.quantities import Array
from dampkit.report.picture import Area, Layer, Line, Picture, Span, Word

Figure = dict[str, Any]


def figure(picture: Picture) -> Figure:
    """`{"data": [...], "layout": {...}}` as plotly.js takes it; what all layouts share is in the page's script."""
    named = [id(layer) for layer in picture.legend()]
    return {
        "data": [
            *(_trace(layer) | {"showlegend": id(layer) in named} for layer in picture.layers),
            *(_span(span) for span in picture.spans),
        ],
        "layout": {
            "yaxis": {"rangemode": "normal" if picture.near else "tozero"}
            if picture.view is None
            else {"range": list(picture.view)},
            "annotations": [_heading(picture), *(_word(word) for word in picture.words), *map(_length, picture.spans)],
        },
    }


def _heading(picture: Picture) -> Figure:
    """The names of both axes, written level above the picture where a phone has room for them."""
    place = {"x": 0, "xref": "paper", "y": 1, "yref": "paper", "xanchor": "left", "yanchor": "bottom", "xshift": -45}
    text = f"Up: {picture.y_axis.text}<br>Across: {picture.x_axis.text}"
    return {"text": text, "align": "left", "showarrow": False, "font": {"size": 13}} | place


def _word(word: Word) -> Figure:
    return {"text": f"<b>{word.text}</b>", "x": word.x, "y": word.y, "showarrow": False, "xanchor": "left"}


def _span(span: Span) -> Figure:
    return {
        "type": "scatter",
        "x": [span.x_from, span.x_to],
        "y": [span.y, span.y],
        "mode": "lines+markers",
        "line": {"color": "ink:reference", "width": 3},
        "marker": {"symbol": "line-ns-open", "size": 11, "color": "ink:reference"},
        "hoverinfo": "skip",
        "showlegend": False,
    }


def _length(span: Span) -> Figure:
    """The words of a span, beyond its second end."""
    right = span.x_to < span.x_from
    place = {"x": span.x_to, "y": span.y, "xshift": -8 if right else 8, "xanchor": "right" if right else "left"}
    return {"text": f"<b>{span.text}</b>", "showarrow": False} | place


def _trace(layer: Layer) -> Figure:
    if isinstance(layer, Area):
        return _band(layer)
    base = {
        "type": "scatter",
        "name": layer.name,
        "legendgroup": layer.name,
        "x": _plain(layer.x),
        "y": _plain(layer.y),
    }
    if isinstance(layer, Line):
        return base | {"mode": "lines", "line": {"color": f"ink:{layer.ink}", "dash": layer.dash, "width": 2}}
    symbol = f"{layer.marker}-open" if layer.hollow else layer.marker
    trace = base | {
        "mode": "markers",
        "marker": {"color": f"ink:{layer.ink}", "symbol": symbol, "size": 2.2 * layer.size},
    }
    if layer.low is not None and layer.high is not None:
        trace["error_y"] = {
            "type": "data",
            "array": _plain(layer.high - layer.y),
            "arrayminus": _plain(layer.y - layer.low),
        }
    return trace


def _band(layer: Area) -> Figure:
    return {
        "type": "scatter",
        "name": layer.name,
        "legendgroup": layer.name,
        "x": _plain(np.concatenate([layer.x, layer.x[::-1]])),
        "y": _plain(np.concatenate([layer.high, layer.low[::-1]])),
        "mode": "lines",
        "fill": "toself",
        "fillcolor": f"ink:{layer.ink}-fill",
        "line": {"color": f"ink:{layer.ink}", "width": 1, "dash": "dot" if layer.hatched else "solid"},
    }


def _plain(values: Array) -> list[float]:
    """Four significant digits: finer than the eye, and the page stays small."""
    return [float(f"{value:.4g}") for value in values]
