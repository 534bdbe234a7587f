"""SVG to PNG by a library; no browser is needed for it."""

from __future__ import annotations

from pathlib import Path

from dampkit.errors import BadSettings
from dampkit.files import Output

SCALE = 2  # pixels for each unit of the drawing
FONTS = "DejaVu Sans, Liberation Sans, sans-serif"  # as `report/figure_file.py` asks for
LETTER = (
    f'<svg xmlns="http://www.w3.org/2000/svg" width="20" height="20"><text y="15" font-family="{FONTS}">%s</text></svg>'
)


def png_output(place: Path, svg: str) -> Output:
    """Raises BadSettings where the library or a font for the words is missing."""
    try:
        import resvg_py
    except ImportError:
        found, do = "the library that draws a PNG is not installed", "pip install 'dampkit[png]', or --figures-as svg"
        raise BadSettings(str(place), found, "resvg-py", do) from None
    if bytes(resvg_py.svg_to_bytes(LETTER % "A")) == bytes(resvg_py.svg_to_bytes(LETTER % " ")):
        found = "no font is installed, so the picture would be without its words"
        raise BadSettings(
            str(place), found, "DejaVu Sans, Liberation Sans or Arial", "install one of them, or use --figures-as svg"
        )
    return Output(place, lambda to: to.write_bytes(bytes(resvg_py.svg_to_bytes(svg, zoom=SCALE))))
