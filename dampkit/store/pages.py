"""What the pages of the store share: their templates, and the workshop at the head."""

from __future__ import annotations

from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Any

from dampkit.report import document

if TYPE_CHECKING:
    from jinja2 import Environment

    from dampkit.outcome.workshop import Letterhead

TEMPLATES = Path(__file__).parent / "templates"


def rendered(template: str, view: dict[str, Any], head: Letterhead | None) -> str:
    """`head` is the workshop that stands at the head of the page; None leaves it out."""
    return _environment().get_template(template).render(**view, letterhead=head)


@cache
def _environment() -> Environment:
    return document.environment(TEMPLATES, document.TEMPLATES)
