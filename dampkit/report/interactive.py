"""The same pictures as data for plotly, which the page draws only when the reader asks for it.

Colours stay names (`ink:curve`): the page puts in the colour that its light or dark scheme has for them.
"""

from __future__ import annotations

from typing import Any

import numpy as np

from dampkit.quantities import Array
from dampkit.report.picture import Area, Layer, Line, Picture

Figure = dict[str, Any]


def figure(picture: Picture) -> Figure:
    """`{"data": [...], "layout": {...}}` as plotly.js takes it."""
    firsts = picture.legend()
    return {
        "data": [trace | {"showlegend": any(layer is f for f in firsts)} for layer in picture.layers for trace in [_trace(layer)]],
        "layout": {
            "xaxis": _axis(picture.x_axis),
            "yaxis": _axis(picture.y_axis),
            "annotations": [
                {"text": word.text, "x": word.x, "y": word.y, "showarrow": False, "xanchor": "left", "font": {"color": "ink:ink"}}
                for word in picture.words
            ],
            "legend": {"orientation": "h", "y": -0.2, "font": {"color": "ink:ink"}},
            "margin": {"l": 60, "r": 10, "t": 10, "b": 50},
            "font": {"size": 14, "color": "ink:ink"},
            "paper_bgcolor": "ink:paper",
            "plot_bgcolor": "ink:paper",
            "hovermode": "closest",
        },
    }


def _axis(name: str) -> Figure:
    return {"title": {"text": name}, "gridcolor": "ink:rule", "zerolinecolor": "ink:ink", "automargin": True}


def _trace(layer: Layer) -> Figure:
    if isinstance(layer, Area):
        return _band(layer)
    base = {"type": "scatter", "name": layer.name, "legendgroup": layer.name, "x": _plain(layer.x), "y": _plain(layer.y)}
    if isinstance(layer, Line):
        return base | {"mode": "lines", "line": {"color": f"ink:{layer.ink}", "dash": layer.dash, "width": 2}}
    trace = base | {"mode": "markers", "marker": {"color": f"ink:{layer.ink}", "symbol": layer.marker, "size": 2.2 * layer.size}}
    if layer.low is not None and layer.high is not None:
        trace["error_y"] = {"type": "data", "array": _plain(layer.high - layer.y), "arrayminus": _plain(layer.y - layer.low)}
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
    """Five significant digits: finer than the eye, and the page stays small."""
    return [float(f"{value:.5g}") for value in values]
