"""Text from outside made safe to show: it appears as text, cannot turn the page round, and cannot flood it."""

from __future__ import annotations

import json
from typing import Any

from markupsafe import Markup

from dampkit.errors import visible

LONGEST = 1000  # characters of one text: a step of our own with its cautions takes up to 551 on a sample run
LONGEST_NAME = 60  # of a name in a heading


def shortened(text: str, longest: int = LONGEST) -> str:
    """At most `longest` characters, and says so when something was cut."""
    if len(text) <= longest:
        return text
    return f"{text[:longest]}… [cut here; {len(text)} characters in the stored result]"


def shown(value: Any) -> Any:
    """What every expression of the templates passes through: None is said in words, foreign text is made plain."""
    if value is None:
        return "not established"
    if isinstance(value, str) and not isinstance(value, Markup):
        return visible(shortened(value))
    return value


def embedded(data: object) -> Markup:
    """JSON that is safe inside a script element, whatever text it holds.

    Raises ValueError for a number that JSON does not have (infinite or not a number).
    """
    text = json.dumps(data, allow_nan=False, separators=(",", ":"), ensure_ascii=True)
    return Markup(text.replace("<", "\\u003c").replace(">", "\\u003e").replace("&", "\\u0026"))
