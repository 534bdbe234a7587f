"""Opening a page in the browser, and what is asked of it there."""

from __future__ import annotations

import io
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

PHONE, DESK = (390, 844), (1280, 800)
WCAG = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"]
OF_COLOURS = ["color-contrast", "link-in-text-block"]  # the rules that another scheme can break


@dataclass
class Visit:
    """A page that was opened, what it asked for and what it complained about."""

    page: Any
    asked: list[str] = field(default_factory=list)
    said: list[str] = field(default_factory=list)

    def headings(self) -> list[str]:
        return [text.strip() for text in self.page.locator("h2").all_inner_texts()]

    def too_wide(self) -> bool:
        return bool(self.page.evaluate("document.documentElement.scrollWidth > innerWidth"))


@contextmanager
def visit(browser: Any, place: Path, size: tuple[int, int] = DESK, **how: Any) -> Iterator[Visit]:
    context = browser.new_context(viewport={"width": size[0], "height": size[1]}, **how)
    seen = Visit(context.new_page())
    seen.page.on("request", lambda request: seen.asked.append(request.url))
    seen.page.on("console", lambda message: seen.said.append(message.text) if message.type == "error" else None)
    seen.page.on("pageerror", lambda error: seen.said.append(str(error)))
    seen.page.goto(place.as_uri())
    try:
        yield seen
    finally:
        context.close()


def broken_rules(seen: Visit, axe: str) -> list[tuple[str, str, str, list[str]]]:
    """Rules of WCAG 2.2, levels A and AA, that axe-core finds broken in light or dark, folded parts open [wcag22]."""
    seen.page.evaluate("for (const part of document.querySelectorAll('details')) part.open = true")
    seen.page.evaluate(axe)
    broken = []
    for scheme, rules, least in (
        ("light", {"type": "tag", "values": WCAG}, 10),
        ("dark", {"type": "rule", "values": OF_COLOURS}, 0),
    ):
        seen.page.emulate_media(color_scheme=scheme)
        found = seen.page.evaluate("rules => axe.run(document, rules)", {"runOnly": rules})
        assert len(found["passes"]) > least
        broken += [
            (scheme, v["id"], v["impact"], [node["html"][:200] + node["failureSummary"] for node in v["nodes"][:2]])
            for v in found["violations"]
        ]
    return broken


def sides_of(page: Any, paper: str) -> int:
    """Printed sides on A4 or Letter."""
    import pypdf

    return len(pypdf.PdfReader(io.BytesIO(page.pdf(format=paper))).pages)
