"""The fenced blocks of a topic, as its reader would use them."""

from __future__ import annotations

import re
import shlex
from collections.abc import Iterator
from dataclasses import dataclass, field

from dampkit.guide.topics import FOLDER

WRITTEN = sorted(path.stem for path in FOLDER.glob("*.md"))


@dataclass
class Typed:
    """A command after its prompt, the exit status it is said to end with, and the lines that are said to come."""

    words: list[str]
    status: int = 0
    said: list[str] = field(default_factory=list)


def blocks(name: str) -> Iterator[tuple[str, str]]:
    """Language and text of each fenced block, in order."""
    text = (FOLDER / f"{name}.md").read_text(encoding="utf-8")
    for fence in re.finditer(r"^```(\w*)\n(.*?)^```$", text, flags=re.M | re.S):
        yield fence.group(1), fence.group(2)


def typed(block: str) -> list[Typed]:
    out: list[Typed] = []
    for line in block.splitlines():
        if line.startswith("$ "):
            status = re.search(r"# status (\d+)$", line)
            out.append(Typed(shlex.split(line[2:], comments=True), int(status.group(1)) if status else 0))
        else:
            out[-1].said.append(line)
    return out
