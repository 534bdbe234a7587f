"""The whole guide as one page that needs nothing beside it; a small script filters it, and without scripts it is read whole."""

from __future__ import annotations

import re
from pathlib import Path
from typing import TYPE_CHECKING

from markupsafe import Markup

from dampkit.frozen import frozen
from dampkit.guide.plain import markdown
from dampkit.guide.topics import CHAPTERS, NAMES, Topic, topic
from dampkit.report.document import TEMPLATES as LOOK
from dampkit.report.document import environment
from dampkit.version import __version__

if TYPE_CHECKING:
    from markdown_it.token import Token

TEMPLATES = Path(__file__).parent / "templates"
REFERENCE = "Reference"  # the chapter whose topics are folded


@frozen
class Part:
    """A piece that the search shows or hides whole."""

    html: Markup


@frozen
class Section:
    topic: Topic
    parts: tuple[Part, ...]
    folded: bool


def guide_page() -> str:
    """The page; the same package gives the same text."""
    chapters = {
        chapter: [_section(topic(name), chapter == REFERENCE) for name in names] for chapter, names in CHAPTERS.items()
    }
    made = environment(TEMPLATES, LOOK, finalize=None).get_template("guide.html")
    return made.render(chapters=chapters, version=__version__)


def _section(one: Topic, folded: bool) -> Section:
    """Its title is the template's; the rest in parts, one for each heading."""
    body = one.text.split("\n\n", 2 if folded else 1)[-1]  # of a folded one the first sentence is what is always seen
    pieces = re.split(r"^(?=## )", body, flags=re.M)
    return Section(one, tuple(Part(_html(piece, one.name)) for piece in pieces if piece.strip()), folded)


def _html(text: str, name: str) -> Markup:
    reader = markdown()
    tokens = reader.parse(text)
    for i, token in enumerate(tokens):
        if token.type == "heading_open" and token.tag == "h2":
            token.attrSet("id", f"{name}--{_slug(tokens[i + 1].content)}")
        if token.type in ("heading_open", "heading_close"):
            token.tag = f"h{int(token.tag[1]) + 1}"  # the title of the topic is the second level of the page
        _point_inside(token)
    made = reader.renderer.render(tokens, reader.options, {})
    return Markup(
        made.replace("<table>", '<div class="wide"><table class="prose">').replace("</table>", "</table></div>")
    )


def _point_inside(token: Token) -> None:
    """Links to topics as links within the page."""
    for child in token.children or ():
        if child.type == "link_open" and child.attrGet("href") in NAMES:
            child.attrSet("href", f"#{child.attrGet('href')}")


def _slug(heading: str) -> str:
    return re.sub(r"[^a-z0-9_]+", "-", heading.casefold()).strip("-")
