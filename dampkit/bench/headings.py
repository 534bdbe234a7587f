"""What a column's heading says: which channel, in which unit."""

from __future__ import annotations

import re
import unicodedata

from dampkit.bench.units import KINDS, Kind, kinds_with_unit
from dampkit.bench.words import COMPOUND_ENDINGS, SYMBOLS, WORDS
from dampkit.frozen import frozen

CHANNELS = (*KINDS, "clock", "sample")
ANGLE_UNITS = ("deg", "°", "degree", "degrees", "rad", "radian", "radians")
_BRACKETS = re.compile(r"[\[(<{]([^\])>}]*)[\])>}]")
_SPEED_TAIL = re.compile(r"[_\s](mm|cm|m|in)(?:[_\s]?per[_\s]?|p|[_\s])s(?:ec)?$", re.IGNORECASE)
_TAIL = re.compile(r"(.*?[^\W_].*?)(?:\s+in\s+|[_\s/,:;-]+)([^\s_,:;]+)$")
_LETTERS = str.maketrans({"ø": "o", "ł": "l", "æ": "ae", "đ": "d", "ı": "i"})


@frozen
class Heading:
    """`by_word`: channels that the words name. `by_unit`: kind -> unit, for every kind that the unit fits."""

    text: str
    by_word: frozenset[str]
    by_unit: dict[Kind, str]
    unit_text: str
    not_measured: bool  # a command, a peak, a mean
    tokens: tuple[str, ...]

    @property
    def channels(self) -> frozenset[str]:
        """Channels that words and unit allow together; empty where nothing is said or the two contradict."""
        by_unit: set[str] = set(self.by_unit)
        if "time" in by_unit:
            by_unit.add("clock")
        if not by_unit:
            return self.by_word
        return frozenset(self.by_word & by_unit) if self.by_word else frozenset(by_unit)

    @property
    def names_angle(self) -> bool:
        """Whether words or unit say a crank's angle."""
        return any(t in WORDS["angle"] for t in self.tokens) or self.unit_text.strip().lower() in ANGLE_UNITS

    @property
    def recognised(self) -> bool:
        return bool(self.channels)


def read_heading(text: str, unit_cell: str = "") -> Heading:
    """A heading and, where the log has a row of units, the cell below it."""
    text = text.strip().strip("#%*'\"").strip()
    name, unit_text, by_unit = _name_and_unit(text)
    if not by_unit and unit_cell and kinds_with_unit(unit_cell):
        unit_text, by_unit = unit_cell.strip(" []()"), kinds_with_unit(unit_cell)
    tokens = _tokens(name)
    by_word = _channels_named(name, tokens)
    if not by_word and not by_unit:
        by_unit = kinds_with_unit(text, bracketed=False)  # a heading that is nothing but a unit
        unit_text = text if by_unit else unit_text
    other = any(t in WORDS["other"] for t in tokens)
    return Heading(text, by_word, by_unit, unit_text, other, tuple(tokens))


def _name_and_unit(text: str) -> tuple[str, str, dict[Kind, str]]:
    unknown = ""
    for match in _BRACKETS.finditer(text):
        units = kinds_with_unit(match[1])
        if units:
            return _BRACKETS.sub(" ", text), match[1].strip(), units
        unknown = unknown or match[1].strip()
    name = _BRACKETS.sub(" ", text).strip()
    speed = _SPEED_TAIL.search(name)
    if speed:
        unit = f"{speed[1]}/s"
        return name[: speed.start()], unit, kinds_with_unit(unit)
    tail = _TAIL.fullmatch(name)
    if tail:
        units = kinds_with_unit(tail[2])
        named = _channels_named(tail[1], _tokens(tail[1]))
        if units and (kinds_with_unit(tail[2], bracketed=False) or named & set(units)):
            return tail[1], tail[2], units
    return name, unknown, {}


def _tokens(name: str) -> list[str]:
    apart = re.sub(r"(?<=[a-z])(?=[A-Z])", " ", name)
    plain = unicodedata.normalize("NFKD", apart.lower().translate(_LETTERS).replace("ß", "ss"))
    plain = "".join(c for c in plain if not unicodedata.combining(c))
    return [t for t in re.split(r"[\W_\d]+", plain) if t]


def _channels_named(name: str, tokens: list[str]) -> frozenset[str]:
    bare = name.strip()
    if bare in SYMBOLS:
        return frozenset({SYMBOLS[bare]})
    if bare == "#":
        return frozenset({"sample"})
    joined = "".join(tokens)
    found = {c for c in CHANNELS if joined in WORDS[c]}
    if not found:
        found = {c for c in CHANNELS for t in tokens if len(t) > 1 and t in WORDS[c]}
    if not found:
        found = {c for c in CHANNELS for t in tokens if _ends_in_word(t, c)}
    return frozenset(found)


def _ends_in_word(token: str, channel: str) -> bool:
    return any(token.endswith(w) and token != w for w in WORDS[channel] if w in COMPOUND_ENDINGS)


def foreign_words(text: str) -> int:
    """How many of a text's words with letters beyond ASCII are words that head a channel."""
    marked = re.findall(r"[^\W\d_]*[^\W\d_\x00-\x7f][^\W\d_]*", text)
    return sum(bool(_channels_named(word, _tokens(word))) for word in dict.fromkeys(marked))
