"""A picture of the page as a file of its own: SVG with title, legend and colours in it, for any viewer."""

from __future__ import annotations

import re

from markupsafe import escape

from dampkit.report.document import inks
from dampkit.report.picture import Picture
from dampkit.report.svg import WIDE, svg, swatch

TITLE, LINE, MARGIN = 26.0, 20.0, 8.0  # heights of title and legend lines, and the edge; view-box units
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
