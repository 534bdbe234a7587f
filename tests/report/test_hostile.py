"""Text from outside shows as text and breaks nothing."""

from __future__ import annotations

import json
import unicodedata
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from dampkit.errors import HIDDEN, visible
from dampkit.outcome.result import Result
from dampkit.report.page import render
from dampkit.report.plain import LONGEST, embedded
from tests.report.made_up import low_oil, sound
from tests.report.reading import Page, without_library

HOSTILE = (
    "<script>alert(1)</script>",
    "</script></style></title><img src=x onerror=alert(1)>",
    "\" onload='alert(1)' x=\"",
    "&lt;b&gt; &amp; {{ 7 * 7 }} {% raw %}",
    "<!-- --> ]]> <![CDATA[",
    "\u202egnp.exe\u2066\u200f",
    "line\u2028end\u2029\x00\x1b[31m",
    "x" * 10_000,
    "ü ß 油圧 🛠 é",
)


def poisoned(result: Result, text: str) -> dict[str, Any]:
    """The result with its free text replaced; words from closed lists stay as they are."""
    plain = result.to_dict()
    plain["damper"].update(serial=text, kind=text)
    plain["run"].update(file=text, sha256=text)
    plain["run"]["history"] = [{"what": text, "why": text, "settings": {text: text}}]
    plain["quality"] = [{"code": text, "severity": "note", "message": text}]
    plain["verdict"].update(reasons=[text], next_step=text)
    plain["left_out"], plain["sources"], plain["version"] = [text], [text], text
    plain["not_looked_for"] = [{"code": text, "lacks": [text], "needs": text}]
    for fault in plain["faults"]:
        fault.update(code=text, sentence=text)
        fault["evidence"] = [{"measure": text, "value": 1.0, "unit": text, "limit": 2.0, "basis": text}]
    if plain["vehicle"]:
        plain["vehicle"]["name"] = text
        plain["vehicle"]["need"]["basis"] = text
    return plain


@pytest.mark.parametrize("text", HOSTILE)
@pytest.mark.parametrize("make", [sound, low_oil])
def test_foreign_text_adds_no_element_and_ends_none(make: Any, text: str) -> None:
    clean = Page(without_library(render(poisoned(make(), "plain"))))
    page = Page(without_library(render(poisoned(make(), text))))
    assert page.misnested == []
    assert [tag for tag, _ in page.tags] == [tag for tag, _ in clean.tags]
    assert [set(attributes) for _, attributes in page.tags] == [set(attributes) for _, attributes in clean.tags]


@pytest.mark.parametrize("text", HOSTILE[:5])
def test_foreign_text_is_read_as_it_was_written(text: str) -> None:
    assert text in Page(without_library(render(poisoned(low_oil(), text)))).text


def test_direction_marks_are_spelt_out() -> None:
    html = render(poisoned(sound(), "\u202eA-1042"))
    assert "\u202e" not in without_library(html)
    assert "&lt;U+202E&gt;A-1042" in html


def test_long_text_is_cut_and_says_so() -> None:
    page = Page(without_library(render(poisoned(sound(), "x" * 10_000))))
    assert "10000 characters in the stored result" in page.text
    assert max(len(word) for word in page.text.split()) <= LONGEST + len("(…")


@settings(max_examples=60, deadline=None)
@given(st.text())
def test_visible_text_holds_no_control_and_keeps_what_was_printable(text: str) -> None:
    assert not {unicodedata.category(c) for c in visible(text)} & HIDDEN
    if text.isprintable():
        assert visible(text) == text


@settings(max_examples=200, deadline=None)
@given(st.recursive(st.none() | st.booleans() | st.text() | st.floats(allow_nan=False, allow_infinity=False), st.lists))
def test_embedded_data_reads_back_and_cannot_end_its_script(data: object) -> None:
    text = str(embedded(data))
    assert json.loads(text) == data
    assert text.isascii()
    assert not set("<>&") & set(text)


def test_embedded_data_refuses_what_json_does_not_have() -> None:
    with pytest.raises(ValueError, match="Out of range"):
        embedded(float("nan"))
