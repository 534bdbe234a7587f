"""`dampkit guide`: the topics, one of them, or all of them as a page."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import Annotated

import typer

from dampkit.app.say import say
from dampkit.errors import BadSettings
from dampkit.files import check_outputs, write_text


def guide_command(
    topic: Annotated[
        str | None, typer.Argument(metavar="TOPIC", help="A topic, or a code such as low_oil.", show_default=False)
    ] = None,
    html: Annotated[
        Path | None, typer.Option("--html", metavar="OUT.html", help="Write all of it as one page.")
    ] = None,
) -> None:
    """Without a topic: the list of them, with one sentence each."""
    if html is not None:
        from dampkit.guide.page import guide_page

        check_outputs([html], [])
        say(f"written: {write_text(html, guide_page())}")
    if topic is not None:
        say(_topic(topic), nl=False)
    elif html is None:
        say("\n".join(_contents()))


def _contents() -> Iterator[str]:
    import textwrap

    from dampkit.guide.topics import CHAPTERS, topic

    width = max(len(name) for names in CHAPTERS.values() for name in names) + 4
    for chapter, names in CHAPTERS.items():
        yield chapter
        for name in names:
            yield from textwrap.wrap(
                topic(name).said, _width(), initial_indent=f"  {name:<{width - 2}}", subsequent_indent=" " * width
            )
        yield ""
    yield "dampkit guide TOPIC, or dampkit guide CODE for one fault or remark; dampkit guide --html GUIDE.html for a browser."


def _topic(asked: str) -> str:
    """Its text, or what stands under a code of a fault or remark. Raises BadSettings where there is neither."""
    from dampkit.guide.plain import plain
    from dampkit.guide.topics import NAMES, near, part_of, topic

    if asked in NAMES:
        return plain(topic(asked).text, _width())
    part = part_of(asked)
    if part is not None:
        where, text = part
        return f"{plain(text, _width())}\nFrom: dampkit guide {where.name}\n"
    like, inside = near(asked)
    look = [f"perhaps {', '.join(like)}"] if like else []
    look += [f"the words stand in {', '.join(inside)}"] if inside else []
    do = "; ".join(look) or "see  dampkit guide"
    raise BadSettings("dampkit guide", f"there is no topic {asked!r}", f"one of {', '.join(NAMES)}", do)


def _width() -> int:
    return shutil.get_terminal_size().columns - 2
