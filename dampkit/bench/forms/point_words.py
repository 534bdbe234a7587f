"""Words that head the columns of tables and tests by hand, and words for the two directions."""

from __future__ import annotations

import re
import unicodedata

from dampkit.quantities import DIRECTIONS, Direction


def words_of(text: str) -> frozenset[str]:
    """The words of a heading or a cell: lower case, accents off."""
    plain = unicodedata.normalize("NFKD", text.lower())
    bare = "".join(c for c in plain if not unicodedata.combining(c))
    return frozenset(re.findall(r"[^\W\d_]+", bare))


_NAMES: dict[Direction, str] = {
    "rebound": """
        rebound reb extension ext tension out pull zug zugstufe ausfedern detente estensione rebote uitgaand odbicie
        retur 伸び 伸""",
    "compression": """
        compression comp compr bump jounce in push druck druckstufe einfedern compresion compressione ingaand dobicie
        縮み 縮""",
}
WAYS: dict[Direction, frozenset[str]] = {way: words_of(names) for way, names in _NAMES.items()}
# What heads a column beside the channels of a log. A rate is of the crank: turns a minute, or cycles a second.
QUANTITIES: dict[str, frozenset[str]] = {
    "direction": words_of("direction dir way richtung sens direccion direzione richting kierunek riktning"),
    "setting": words_of("setting settings click clicks turn turns klick klicks clic clics stufe"),
    "arm": words_of("arm lever hebel hebelarm bras leva"),
}
PER_SECOND: dict[str, float] = {
    **dict.fromkeys(("rpm", "1/min", "min-1", "u/min", "cpm"), 1 / 60),
    **dict.fromkeys(("hz", "1/s"), 1.0),
}
POSITIVE = words_of("positive plus pos positiv")


def way_in(text: str) -> Direction | None:
    """The direction that a heading or a cell names; None where it names none, or both."""
    words = words_of(text)
    found = [way for way in DIRECTIONS if WAYS[way] & words]
    return found[0] if len(found) == 1 else None
