"""The topics that nobody writes: made from models, causes, limits and words of the package, so that they cannot differ."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from functools import partial

from dampkit.guide.faults_text import fault_codes
from dampkit.guide.keys_text import keys_topic
from dampkit.report.quality_words import QUALITIES
from dampkit.report.words import CAUTIONS, GLOSSARY, SEVERITIES
from dampkit.sources import SOURCES

LEADING = "These words stand on every page that is made of a test. They go before everything else in this guide."


def quality_codes() -> str:
    severities = "".join(f"- {text}.\n" for text in SEVERITIES.values())
    parts = "".join(
        f"## `{code}`\n\n*{remark.severity}.* {remark.means}\n\n**Do:** {remark.do}\n\n"
        for code, remark in sorted(QUALITIES.items())
    )
    return (
        "# Remarks on the data\n\nEvery remark that a page or a result may make on the data, what it means, and what to do"
        f" about it.\n\n{severities}\nThe code stands beside the remark on the page, and under `quality` in the JSON. On the"
        f" page the sentence has the figures of that test.\n\n{parts}"
    )


def cautions() -> str:
    parts = "".join(f"## {title}\n\n{text}\n\n" for title, text in CAUTIONS)
    return f"# Cautions\n\nWhat can hurt somebody at the bench or on the road, and who has the last word.\n\n{LEADING}\n\n{parts}"


def words() -> str:
    parts = "".join(f"- **{word}**: {text}\n" for word, text in GLOSSARY)
    return f"# Words\n\nThe words of the pages, each in a sentence.\n\n{parts}"


def sources() -> str:
    parts = "".join(f"- **`{key}`**: {source.citation} ({source.how})\n" for key, source in sorted(SOURCES.items()))
    return (
        "# Sources\n\nEvery published source that the methods name, by the key in square brackets.\n\n"
        '"Read" means that a public copy of the passage was read; "from memory" that the book or standard was not at hand:'
        f" such relations are checked by a second way in the tests.\n\n{parts}"
    )


FILES = ("bench", "damper", "vehicle", "inspection", "costs", "stock", "work", "calibration", "result")
MADE: Mapping[str, Callable[[], str]] = {
    **{f"keys-{file}": partial(keys_topic, file) for file in FILES},
    "fault-codes": fault_codes,
    "quality-codes": quality_codes,
    "cautions": cautions,
    "words": words,
    "sources": sources,
}
