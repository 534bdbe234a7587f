"""Fewer points for the same line: what is drawn stays the same to the eye, and a page stays small."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from dampkit.quantities import Array, Mask
from dampkit.report.picture import Area, Layer, Line, Picture

TOLERANCE = 6e-4  # of the picture's width and height: a fifth of a pixel on a phone, half of one on a desk
TOLERANCE_SMALL = 1.5e-3  # the same for a small picture


def simplified(picture: Picture, tolerance: float = TOLERANCE) -> Picture:
    """Lines and edges of bands without the points that lie on the straight line between their neighbours."""
    x_low, x_high, y_low, y_high = picture.extent()
    wide, high = max(x_high - x_low, 1e-12), max(y_high - y_low, 1e-12)
    return replace(picture, layers=tuple(_layer(layer, wide, high, tolerance) for layer in picture.layers))


def kept(x: Array, y: Array, tolerance: float) -> Mask:
    """Which points to keep so that no point lies further than `tolerance` from the line; shape (N,). Both ends stay.

    Source: [douglas1973].
    """
    keep = np.zeros(x.size, dtype=np.bool_)
    keep[[0, -1]] = True
    left = [(0, x.size - 1)]
    while left:
        a, b = left.pop()
        if b - a < 2:
            continue
        far = _distance(x[a : b + 1], y[a : b + 1])
        at = a + int(np.argmax(far))
        if far[at - a] > tolerance:
            keep[at] = True
            left += [(a, at), (at, b)]
    return keep


def _layer(layer: Layer, wide: float, high: float, tolerance: float) -> Layer:
    if isinstance(layer, Line):
        keep = kept(layer.x / wide, layer.y / high, tolerance)
        return replace(layer, x=layer.x[keep], y=layer.y[keep])
    if isinstance(layer, Area):
        keep = kept(layer.x / wide, layer.low / high, tolerance) | kept(layer.x / wide, layer.high / high, tolerance)
        return replace(layer, x=layer.x[keep], low=layer.low[keep], high=layer.high[keep])
    return layer


def _distance(x: Array, y: Array) -> Array:
    """Distance of every point from the straight line between the first and the last; from the first where they meet."""
    dx, dy = x[-1] - x[0], y[-1] - y[0]
    length = float(np.hypot(dx, dy))
    if length < 1e-12:
        return np.asarray(np.hypot(x - x[0], y - y[0]))
    return np.asarray(np.abs(dx * (y - y[0]) - dy * (x - x[0])) / length)
