"""What the test covered, on the page: the strip, its table, and what was not looked for."""

from __future__ import annotations

import re
from typing import get_args

import pytest

from dampkit.outcome.decision_record import CoverageRecord
from dampkit.report import words
from dampkit.report.covered import PIECES, coverage_table, lacking, strip
from dampkit.report.numbers import Writer
from dampkit.report.page import render
from tests.report.made_up import ALL, coverage, low_oil, sound, suspected, unclear, undecided
from tests.report.reading import Page, without_library


def test_every_piece_and_answer_there_is_has_its_place_and_words() -> None:
    fields = CoverageRecord.model_fields
    assert get_args(fields["piece"].annotation) == PIECES
    assert set(get_args(fields["answer"].annotation)) == set(words.COVERED)


@pytest.mark.parametrize("make", [sound, low_oil, suspected, undecided])
def test_the_strip_holds_the_stored_answer_of_every_piece(make: object) -> None:
    result = make()  # type: ignore[operator]
    shown = strip(result)
    assert shown is not None
    found = {(side, p): a for side, row in shown.rows for p, a in zip(shown.pieces, row, strict=True)}
    assert found == {(c.direction.capitalize(), c.piece): c.answer for c in result.coverage}


def test_each_answer_is_said_in_words_beside_its_pattern() -> None:
    for make, answer in ((sound, "in"), (low_oil, "out"), (suspected, "not established"), (undecided, "not compared")):
        html = without_library(render(make()))
        table = html[html.index('<table class="strip">') :]
        table = table[: table.index("</table>")]
        said = Page(table).text
        assert said.count(answer) >= 7
        assert table.count(f"url(#band-{answer.replace(' ', '-')})") >= 7
        assert table.count('class="none"') == 1


def test_a_piece_that_a_direction_does_not_have_is_said_so() -> None:
    result = sound().model_copy(update={"coverage": coverage()[:-1]})
    assert "no such part" in Page(without_library(render(result))).text


def test_a_friction_damper_has_no_knee() -> None:
    plain = sound().damper.model_copy(update={"kind": "friction-disc"})
    shown = strip(sound().model_copy(update={"damper": plain}))
    assert shown is not None
    assert shown.pieces == ("slow pass", "slow", "middle", "fast", "top")


def test_the_table_gives_the_speeds_and_what_they_were_held_against() -> None:
    table = coverage_table(sound(), Writer())
    assert table is not None
    assert len(table.rows) == 10
    assert table.rows[1][0] == "Rebound, below the knee"
    assert table.rows[1][1].replace("\u00a0", " ") == "0.02 m/s to 0.15 m/s"
    assert table.rows[1][2:] == ("in", "inside what was asked (known-good unit)")


def test_a_result_stored_without_coverage_has_no_strip() -> None:
    assert strip(unclear()) is None
    assert coverage_table(unclear(), Writer()) is None
    assert 'class="strip"' not in without_library(render(unclear()))


def test_faults_that_need_the_same_are_said_in_one_line() -> None:
    lines = lacking(undecided())
    assert len(lines) == 1
    assert lines[0].startswith("Internal leak, weak blow-off: needs the forces of a known-good unit")
    assert lines[0] in Page(without_library(render(undecided()))).text


@pytest.mark.parametrize("name", list(ALL))
def test_no_two_numbers_for_friction(name: str) -> None:
    """Either an estimate or the bound, never both."""
    shown = Page(without_library(render(ALL[name]()))).text
    assert len(re.findall(r"not established; at most \d+ N", shown)) == (1 if name == "suspected" else 0)


def test_bands_that_hold_friction_say_so_where_it_could_not_be_taken_off() -> None:
    shown = Page(without_library(render(suspected()))).text
    assert "friction is not established, only that it is at most 31 N" in shown
    assert "friction (25 N) taken off" in Page(without_library(render(sound()))).text


def test_a_curve_without_a_law_is_said_once_and_not_as_eight_gaps() -> None:
    shown = Page(without_library(render(suspected()))).text
    valve = shown[shown.index("Valve by direction (95 % interval)") :]
    valve = valve[: valve.index("Parts of the valve reached")]
    assert valve.count("as measured: the curve stands by itself") == 2
    assert "not established" not in valve
    assert "Blow-off opens at force" not in valve


def test_readings_stand_beside_the_force_of_the_oil() -> None:
    """Made up with 25 N of friction: 310 N of oil at 0.1 m/s in rebound read as 335 N."""
    shown = Page(without_library(render(sound()))).text
    assert "0.1 m/s 335.0 N (331.6 to 338.4) 310 N (301 to 319)" in shown
