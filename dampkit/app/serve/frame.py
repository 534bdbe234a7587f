"""The frame of every page: templates, and text from outside made safe to show."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Any

from markupsafe import Markup, escape
from starlette.responses import HTMLResponse

from dampkit.app.serve.asked import Asked
from dampkit.app.serve.told import without_commands
from dampkit.errors import visible
from dampkit.report.document import TEMPLATES, environment
from dampkit.report.plain import LONGEST, shortened

if TYPE_CHECKING:
    from jinja2 import Environment

HERE = Path(__file__).parent
# what a browser may fetch by name, and where it lies; nothing else is ever opened for a name that was asked for
STATIC = {
    "page.css": TEMPLATES / "page.css",
    "serve.css": HERE / "static" / "serve.css",
    "serve.js": HERE / "static" / "serve.js",
    "page.js": TEMPLATES / "page.js",
}
KINDS = {".css": "text/css; charset=utf-8", ".js": "text/javascript; charset=utf-8"}
PAGES = {"/": "Start", "/book": "Book", "/library": "Library", "/benches": "Benches", "/figures": "Figures"}
UNDER = {  # the first word of an address -> the page that leads there
    "draft": "/", "unit": "/book", "exchange": "/book", "card": "/library", "workshop": "/library", "bench": "/benches",
}  # fmt: skip
STEPS = {
    "record": "Record", "unit": "Unit", "car": "Car", "inspection": "Eyes and hands", "verdict": "Verdict", "keep": "Keep",
}  # fmt: skip


def shown(
    asked: Asked, template: str, view: Mapping[str, Any] | None = None, *, status: int = 200, **more: Any
) -> HTMLResponse:
    """A page in the frame; of a piece of work where `draft` is given, at `step` of it."""
    page = _environment().get_template(template)
    frame: dict[str, Any] = {"draft": None, "step": "", "steps": STEPS, "page": None, "who": asked.house.last_person}
    first = asked.where.split("/")[1]
    frame |= {"token": asked.token, "nonce": asked.nonce, "pages": PAGES, "here": UNDER.get(first, f"/{first}")}
    frame["let_in"] = bool(asked.session)
    return HTMLResponse(page.render({**frame, **(view or {}), **more}), status)


def made_ready() -> None:
    """Every template compiled, so that the first page is answered like any other."""
    for name in _environment().list_templates():
        _environment().get_template(name)


def ours(text: str) -> Markup:
    """HTML that our own templates or pictures wrote, foreign text in it escaped there."""
    return Markup(text)


def in_frame(page: str) -> Markup:
    """What stands in a whole page of the store."""
    return ours(without_commands(page.partition("<main>")[2].rpartition("</main>")[0]))


def below(page: str) -> Markup:
    """Under a heading of ours."""
    return ours(str(page).replace("<h1>", "<h2>").replace("</h1>", "</h2>"))


def _finalize(value: Any) -> Any:
    """Foreign text is made plain; what is not there is left empty."""
    if value is None:
        return ""
    if isinstance(value, str) and not isinstance(value, Markup):
        return visible(shortened(value, 10 * LONGEST))
    return value


def _lines(text: str) -> Markup:
    """Text with its line ends, for a field of several lines."""
    return Markup("\n").join(escape(visible(line)) for line in text.splitlines())


@cache
def _environment() -> Environment:
    found = environment(HERE / "templates", finalize=_finalize)
    found.filters |= {"ours": ours, "below": below, "lines": _lines}
    return found
