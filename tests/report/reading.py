"""Reads a rendered page back the way a browser would, with the standard library's parser."""

from __future__ import annotations

from dataclasses import dataclass, field
from html.parser import HTMLParser

VOID = {"meta", "link", "br", "hr", "img", "input"}


@dataclass
class Page(HTMLParser):
    """What stands in a page: tags with attributes, text outside scripts, text of scripts, headings in order."""

    source: str
    tags: list[tuple[str, dict[str, str | None]]] = field(default_factory=list)
    shown: list[str] = field(default_factory=list)
    scripts: list[tuple[dict[str, str | None], str]] = field(default_factory=list)
    headings: list[tuple[int, str]] = field(default_factory=list)
    open_tags: list[str] = field(default_factory=list)
    misnested: list[str] = field(default_factory=list)

    def __post_init__(self) -> None:
        super().__init__(convert_charrefs=True)
        self.feed(self.source)
        self.close()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(attrs)))
        if tag in VOID:
            return
        self.open_tags.append(tag)
        if tag == "script":
            self.scripts.append((dict(attrs), ""))
        if len(tag) == 2 and tag[0] == "h" and tag[1].isdigit():
            self.headings.append((int(tag[1]), ""))

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(attrs)))

    def handle_endtag(self, tag: str) -> None:
        if not self.open_tags or self.open_tags.pop() != tag:
            self.misnested.append(tag)

    def handle_data(self, data: str) -> None:
        if "script" in self.open_tags:
            attributes, text = self.scripts[-1]
            self.scripts[-1] = (attributes, text + data)
        elif "style" not in self.open_tags:
            self.shown.append(data)
            if any(tag in self.open_tags for tag in ("h1", "h2", "h3")):
                level, text = self.headings[-1]
                self.headings[-1] = (level, text + data)

    @property
    def text(self) -> str:
        """Everything a reader sees, white space made single."""
        return " ".join(" ".join(self.shown).split())

    def attribute(self, name: str) -> list[str]:
        return [attributes[name] or "" for _, attributes in self.tags if name in attributes]

    def count(self, tag: str) -> int:
        return sum(name == tag for name, _ in self.tags)


def without_library(html: str) -> str:
    """The page without the text of plotly.js, which is long and not ours."""
    start = html.index('<script type="text/plain" id="plot-library">')
    return html[:start] + html[html.index("</script>", start) + len("</script>") :]
