"""The one picture of a result at the size of a stamp, for a list of many units."""

from __future__ import annotations

from typing import Any

import numpy as np
from markupsafe import Markup, escape

from dampkit.outcome.result import Result
from dampkit.report.first import first_picture
from dampkit.report.page import checked
from dampkit.report.picture import Line, Picture, Points
from dampkit.report.simplify import simplified
from dampkit.report.svg import DASHES, polyline

WIDTH, HEIGHT, EDGE = 132.0, 76.0, 3.0
COARSE = 8e-3  # of width and height: half a pixel


def thumbnail(result: Result | dict[str, Any]) -> Markup:
    """Curves and the zero line alone; says in words what it shows. Empty where there is nothing to draw."""
    picture = first_picture(checked(result))
    return Markup("") if picture is None else _drawn(simplified(picture, COARSE))


def _drawn(picture: Picture) -> Markup:
    x_low, x_high, y_low, y_high = picture.extent()
    across = (WIDTH - 2 * EDGE) / max(x_high - x_low, 1e-12)
    up = (HEIGHT - 2 * EDGE) / max(y_high - y_low, 1e-12)
    zero = EDGE + y_high * up
    parts = [
        f'<svg class="stamp" role="img" viewBox="0 0 {WIDTH:g} {HEIGHT:g}"><title>{escape(picture.title)}</title>'
        f'<path class="zero" d="M{EDGE:g} {zero:.1f}H{WIDTH - EDGE:g}"/>'
    ]
    for layer in picture.layers:
        if isinstance(layer, Line):
            path = polyline(EDGE + (layer.x - x_low) * across, EDGE + (y_high - np.asarray(layer.y)) * up)
            dash = "" if layer.dash == "solid" else f' stroke-dasharray="{DASHES[layer.dash]}"'
            parts.append(f'<path fill="none" d="{path}"{dash} stroke="var(--{layer.ink})" stroke-width="1.6"/>')
        elif isinstance(layer, Points) and not layer.hollow:
            spots = zip(EDGE + (layer.x - x_low) * across, EDGE + (y_high - layer.y) * up, strict=True)
            marks = "".join(f"M{a:.0f} {b:.0f}h0" for a, b in spots)
            parts.append(f'<path d="{marks}" stroke="var(--{layer.ink})" stroke-width="4" stroke-linecap="round"/>')
    return Markup("".join([*parts, "</svg>"]))
