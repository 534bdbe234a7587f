"""The topics of the guide in their order, each as Markdown: a title, one sentence, the rest."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Mapping
from functools import cache
from importlib import import_module
from pathlib import Path
from types import MappingProxyType

from dampkit.frozen import frozen

FOLDER = Path(__file__).parent
CHAPTERS: Mapping[str, tuple[str, ...]] = MappingProxyType(
    {
        "One test": ("first-test", "write-down", "records", "page", "next-step", "next-test"),
        "Kinds of unit and fault": ("oil-level", "temperature", "lever-arms", "friction-discs", "struts", "steering-dampers"),
        "The car": ("car",),
        "Several tests": ("pair", "settings", "reference", "many-logs"),
        "The workshop": ("at-the-bench", "book", "library", "bench-record"),
        "How it works": ("python", "method", "cautions"),
        "Reference": (
            "keys-bench", "keys-damper", "keys-vehicle", "keys-inspection", "keys-costs", "keys-stock", "keys-work",
            "keys-calibration", "keys-result", "fault-codes", "quality-codes", "words", "sources",
        ),
    }
)  # fmt: skip
CODES = ("fault-codes", "quality-codes")  # topics whose headings are codes
NAMES = tuple(name for names in CHAPTERS.values() for name in names)


@frozen
class Topic:
    """`text` is Markdown that begins with the title as its one heading of the first level; `said` is one sentence."""

    name: str
    text: str

    @property
    def title(self) -> str:
        return self.text.partition("\n")[0].removeprefix("# ")

    @property
    def said(self) -> str:
        return self.text.split("\n\n")[1].replace("\n", " ")

    def parts(self) -> Iterator[tuple[str, str]]:
        """Each heading of the second level, and the text from it to the next."""
        for part in re.split(r"^(?=## )", self.text, flags=re.M)[1:]:
            yield part.partition("\n")[0].removeprefix("## ").strip("`"), part


@cache
def topic(name: str) -> Topic:
    """By its name, one of NAMES."""
    written = FOLDER / f"{name}.md"
    text = written.read_text(encoding="utf-8") if written.is_file() else _made(name)
    return Topic(name, text.strip() + "\n")


def topics() -> Iterator[Topic]:
    return map(topic, NAMES)


def _made(name: str) -> str:
    """From the models and tables of the package, whenever it is read, so that it is never stale; they load only then."""
    made: Mapping[str, Callable[[], str]] = import_module("dampkit.guide.made").MADE
    return made[name]()


def part_of(code: str) -> tuple[Topic, str] | None:
    """What stands under the code of a fault or a remark."""
    for name in CODES:
        for heading, text in topic(name).parts():
            if heading == code:
                return topic(name), text
    return None


def near(asked: str) -> tuple[list[str], list[str]]:
    """Topics whose names or titles look like what was asked, and topics in whose text it stands."""
    from difflib import get_close_matches

    called = {**{one.name: one.name for one in topics()}, **{one.title.casefold(): one.name for one in topics()}}
    word = asked.casefold().replace("_", "-")
    like = [called[found] for found in get_close_matches(word, called, n=3, cutoff=0.6)]
    like += [name for known, name in called.items() if word in known]
    inside = [one.name for one in topics() if asked.casefold() in one.text.casefold()]
    return list(dict.fromkeys(like)), inside
