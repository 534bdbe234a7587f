"""A picture of the page by itself: a file with title, legend and colours in it, for any viewer; a stamp for a list of units."""

from __future__ import annotations

import re
from typing import Any

import numpy as np
from markupsafe import Markup, escape

from dampkit.outcome.result import Result
from dampkit.report.document import inks
from dampkit.report.first import first_picture
from dampkit.report.page import checked
from dampkit.report.picture import Line, Picture, Points
from dampkit.report.simplify import simplified
from dampkit.report.svg import DASHES, WIDE, polyline, svg, swatch

TITLE, LINE, MARGIN = 26.0, 20.0, 8.0  # heights of title and legend lines, and the edge; view-box units
WIDTH, HEIGHT, EDGE = 132.0, 76.0, 3.0  # of a stamp
COARSE = 8e-3  # of width and height: half a pixel
STYLE = """<style>
text { fill: INK; font-family: "DejaVu Sans", "Liberation Sans", sans-serif; }
.tick text { fill: MUTED; }
.word, .title { font-weight: 600; }
.rule { stroke: RULE; stroke-width: 1; }
.zero { stroke: INK; stroke-width: 1.2; }
</style>"""


def figure_size(picture: Picture) -> tuple[int, int]:
    """Width and height of the file in view-box units."""
    lines = len(picture.legend())
    return int(WIDE.width + 2 * MARGIN), int(TITLE + WIDE.height + LINE * lines + 2 * MARGIN)


def figure_svg(picture: Picture) -> str:
    """The whole file, on white paper, in the colours that the page has on paper."""
    width, height = figure_size(picture)
    top = MARGIN + TITLE
    plot = str(svg(picture)).replace(
        "<svg ", f'<svg x="{MARGIN:g}" y="{top:g}" width="{WIDE.width:g}" height="{WIDE.height:g}" ', 1
    )
    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{width}" height="{height}" viewBox="0 0 {width} {height}">',
        STYLE.replace("INK", "var(--ink)").replace("MUTED", "var(--muted)").replace("RULE", "var(--rule)"),
        f'<rect width="{width}" height="{height}" fill="#fff"/>',
        f'<text class="title" x="{MARGIN:g}" y="{MARGIN + 15:g}" font-size="14">{escape(picture.title)}</text>',
        plot,
    ]
    for n, layer in enumerate(picture.legend()):
        y = top + WIDE.height + LINE * n
        sample = str(swatch(picture, layer)).replace(
            "<svg ", f'<svg x="{MARGIN:g}" y="{y:g}" width="34" height="16" ', 1
        )
        parts += [sample, f'<text x="{MARGIN + 42:g}" y="{y + 13:g}" font-size="13">{escape(layer.name)}</text>']
    return _coloured("".join([*parts, "</svg>\n"]))


def _coloured(text: str) -> str:
    """Colours in place of their names, as not every viewer knows the names."""
    return re.sub(r"var\(--([\w-]+)\)", lambda found: inks()[found[1]], text)


def thumbnail(result: Result | dict[str, Any]) -> Markup:
    """The one picture of a result as a stamp: curves and the zero line alone; says in words what it shows. Empty where there is nothing to draw."""
    picture = first_picture(checked(result))
    return Markup("") if picture is None else _stamp(simplified(picture, COARSE))


def _stamp(picture: Picture) -> Markup:
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
