"""What every page is made with: the templates, the pictures twice over, the plot library, and writing it whole."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Any

from dampkit.files import write_text
from dampkit.frozen import frozen
from dampkit.report import words
from dampkit.report.interactive import figure
from dampkit.report.numbers import Writer
from dampkit.report.picture import Picture, in_imperial
from dampkit.report.plain import embedded, shown
from dampkit.report.simplify import TOLERANCE, TOLERANCE_SMALL, simplified
from dampkit.report.svg import FLAT, SMALL, WIDE, svg, swatch

if TYPE_CHECKING:
    from jinja2 import Environment

    from dampkit.outcome.workshop import Letterhead

TEMPLATES = Path(__file__).parent / "templates"
SHARED_LIBRARY = "plotly.min.js"


@frozen
class Look:
    """How a page is written. `library` is where plotly.js lies for it, seen from the page; None puts it into the page.
    `letterhead` is the workshop that stands at its head; None leaves it out."""

    imperial: bool = False
    library: str | None = None
    letterhead: Letterhead | None = None

    @property
    def writer(self) -> Writer:
        return Writer(self.imperial)

    def drawn(self, picture: Picture, tolerance: float = TOLERANCE) -> Picture:
        """In the units of the page, and with no more points than the eye can tell."""
        return simplified(self.turned(picture), tolerance)

    def turned(self, picture: Picture) -> Picture:
        """On axes in the units of the page."""
        return in_imperial(picture) if self.imperial else picture


ALONE = Look()


def page_text(template: str, look: Look, pictures: Iterable[Picture | None], view: dict[str, Any]) -> str:
    """The whole page; the same view gives the same text. Pictures that can be zoomed are those in `pictures`."""
    drawn = [look.drawn(picture) for picture in pictures if picture is not None]
    return (
        _environment()
        .get_template(template)
        .render(
            **view,
            words=words,
            letterhead=look.letterhead,
            small_drawn=lambda picture: look.drawn(picture, TOLERANCE_SMALL),
            pictures={picture.id: picture for picture in drawn},
            picture_data=embedded({picture.id: figure(picture) for picture in drawn}),
            plot_source=look.library,
            plot_library=plot_library() if look.library is None else None,
        )
    )


def write_library(folder: Path) -> Path:
    """plotly.js once in a folder, for all the pages in it. Raises BadSettings where it cannot be written."""
    return write_text(folder / SHARED_LIBRARY, str(plot_library()))


@cache
def inks() -> dict[str, str]:
    """The colours that the page has by day and on paper, by their names in its style sheet."""
    import re

    css = (TEMPLATES / "page.css").read_text(encoding="utf-8")
    return dict(re.findall(r"--([\w-]+): ([^;]+);", css[: css.index("}")]))


@cache
def plot_library() -> Any:
    """plotly.js as the installed package carries it; it holds nothing that would end a script element early."""
    from markupsafe import Markup
    from plotly.offline import get_plotlyjs

    text = get_plotlyjs()
    if "</script" in text.lower() or "<!--" in text:
        text = text.replace("</script", "<\\/script").replace("<!--", "<\\!--")
    return Markup(text)


def made_ready() -> None:
    """Every template compiled, so that the first page takes no longer than the next."""
    for name in _environment().list_templates(["html"]):
        _environment().get_template(name)


@cache
def _environment() -> Environment:
    found = environment(TEMPLATES)
    found.globals.update(svg=svg, swatch=swatch, SMALL=SMALL, WIDE=WIDE, FLAT=FLAT)
    return found


def environment(*folders: Path, finalize: Callable[[Any], Any] | None = shown) -> Environment:
    """Templates that make foreign text safe, and plain by `finalize`; of two of a name that of the first folder."""
    from jinja2 import Environment, FileSystemLoader, StrictUndefined

    return Environment(
        loader=FileSystemLoader(folders),
        autoescape=True,
        finalize=finalize,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
