"""A topic as plain text for a terminal: headings underlined, lists indented, tables aligned, commands as they are typed."""

from __future__ import annotations

import textwrap
from collections.abc import Callable, Iterator, Mapping
from functools import cache
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from markdown_it import MarkdownIt
    from markdown_it.tree import SyntaxTreeNode

NARROWEST, WIDEST = 40, 96
UNDER = {"h1": "=", "h2": "-"}
CODE = "    "


@cache
def markdown() -> MarkdownIt:
    """The one reader of the guide's Markdown; raw HTML is not taken."""
    from markdown_it import MarkdownIt

    return MarkdownIt("commonmark", {"html": False}).enable("table")


def plain(text: str, width: int = 80) -> str:
    """Markdown as lines of at most this many characters, as far as commands and tables allow."""
    from markdown_it.tree import SyntaxTreeNode

    root = SyntaxTreeNode(markdown().parse(text))
    return "\n".join(_blocks(root.children, min(max(width, NARROWEST), WIDEST))) + "\n"


def _blocks(nodes: list[SyntaxTreeNode], width: int) -> Iterator[str]:
    """The lines of blocks, an empty one between two."""
    for i, node in enumerate(nodes):
        if i:
            yield ""
        yield from _BLOCKS[node.type](node, width)


def _heading(node: SyntaxTreeNode, width: int) -> Iterator[str]:
    title = _inline(node.children)
    yield title
    if node.tag in UNDER:
        yield UNDER[node.tag] * min(len(title), width)


def _paragraph(node: SyntaxTreeNode, width: int) -> Iterator[str]:
    yield from _wrapped(_inline(node.children), width)


def _code(node: SyntaxTreeNode, width: int) -> Iterator[str]:
    for line in node.content.rstrip("\n").split("\n"):
        yield f"{CODE}{line}".rstrip()


def _list(node: SyntaxTreeNode, width: int) -> Iterator[str]:
    start = int(node.attrs.get("start", 1))
    for number, item in enumerate(node.children, start):
        mark = f"{number}. " if node.type == "ordered_list" else "- "
        for i, line in enumerate(_item(item, width - len(mark))):
            yield f"{mark if i == 0 else ' ' * len(mark)}{line}".rstrip()


def _item(node: SyntaxTreeNode, width: int) -> Iterator[str]:
    """As blocks, but a list stands right under the sentence that it belongs to."""
    for i, child in enumerate(node.children):
        if i and child.type not in ("bullet_list", "ordered_list"):
            yield ""
        yield from _BLOCKS[child.type](child, width)


def _table(node: SyntaxTreeNode, width: int) -> Iterator[str]:
    """Aligned where it fits; else the last column is wrapped."""
    rows = [[_inline(cell.children) for cell in row.children] for part in node.children for row in part.children]
    widths = [max(len(row[i]) for row in rows) for i in range(len(rows[0]))]
    widths[-1] = max(min(widths[-1], width - sum(widths[:-1]) - 2 * (len(widths) - 1)), 20)
    for number, row in enumerate(rows):
        last = _wrapped(row[-1], widths[-1]) or [""]
        for i, piece in enumerate(last):
            cells = row[:-1] if i == 0 else [""] * (len(row) - 1)
            yield "  ".join([*(f"{cell:<{w}}" for cell, w in zip(cells, widths, strict=False)), piece]).rstrip()
        if number == 0:
            yield "  ".join("-" * w for w in widths)


def _quote(node: SyntaxTreeNode, width: int) -> Iterator[str]:
    for line in _blocks(node.children, width - 2):
        yield f"| {line}".rstrip()


_BLOCKS: Mapping[str, Callable[[SyntaxTreeNode, int], Iterator[str]]] = {
    "heading": _heading,
    "paragraph": _paragraph,
    "fence": _code,
    "code_block": _code,
    "bullet_list": _list,
    "ordered_list": _list,
    "table": _table,
    "blockquote": _quote,
}


def _inline(nodes: list[SyntaxTreeNode]) -> str:
    """Text within a block; a link to another topic says how to read it."""
    out = []
    for node in nodes:
        if node.type in ("text", "code_inline"):
            out.append(node.content if node.type == "text" else f"`{node.content}`")
        elif node.type in ("softbreak", "hardbreak"):
            out.append(" ")
        elif node.type == "link":
            out.append(f"{_inline(node.children)} (dampkit guide {node.attrs['href']})")
        else:
            out.append(_inline(node.children))
    return "".join(out)


def _wrapped(text: str, width: int) -> list[str]:
    return textwrap.wrap(text, width, break_long_words=False, break_on_hyphens=False)
