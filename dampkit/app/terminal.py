"""A small picture made of characters, for a terminal."""

from __future__ import annotations

import numpy as np

from dampkit.quantities import Array, number

SHADES = " .:*#"  # from no reading in a cell to many


def character_picture(x: Array, y: Array, x_name: str, y_name: str, width: int = 64, height: int = 18) -> list[str]:
    """Lines of a picture of y against x, darker where more points fall; axes named, ends of the scales written.

    x, y: shape (N,), finite.
    """
    counts = np.histogram2d(y, x, bins=(height, width))[0][::-1]
    busy = counts[counts > 0]
    edges = np.quantile(busy, [0.25, 0.5, 0.75]) if busy.size else np.zeros(3)
    shade = np.where(counts > 0, 1 + np.searchsorted(edges, counts, side="left"), 0)
    rows = ["".join(SHADES[int(s)] for s in line) for line in shade]
    high, low = number(float(y.max())), number(float(y.min()))
    margin = max(len(high), len(low))
    labels = [high, *[""] * (height - 2), low]
    lines = [f"{label:>{margin}} |{row}|" for label, row in zip(labels, rows, strict=True)]
    left, right = number(float(x.min())), number(float(x.max()))
    scale = f"{' ' * margin}  {left}{right:>{width - len(left)}}"
    return [f"{y_name} (up) against {x_name} (across)", *lines, scale]
