"""Serial, job, day and person of a test: what is said of it beside its files."""

from __future__ import annotations

from datetime import date, timedelta

import pytest

from dampkit.errors import BadSettings
from dampkit.outcome.about import About
from dampkit.outcome.about_record import AboutRecord
from tests.report.made_up import low_oil, sound

SAID = About(" Z-9  rear", "blue estate", "2024-05-31", "Ann")


def test_what_is_said_goes_onto_the_result_and_the_serial_before_the_declared() -> None:
    result = SAID.checked().put_on(low_oil())
    assert result.damper.serial == "Z-9 rear"
    said = {key: value for key, value in result.to_dict()["about"].items() if value is not None}
    assert said == {"job": "blue estate", "tested_on": "2024-05-31", "by": "Ann"}
    assert result.model_copy(update={"damper": low_oil().damper, "about": None}) == low_oil()


def test_nothing_said_changes_nothing() -> None:
    assert About().checked().put_on(sound()) == sound()
    assert About(serial="B").put_on(sound()).about is None
    assert About(by="Ann").put_on(sound()).about == AboutRecord(by="Ann")


@pytest.mark.parametrize("said", ["20240531", "2024-W22-5", "2024-05-31"])
def test_a_day_in_any_form_of_iso_8601_is_one_day(said: str) -> None:
    """ISO 8601-1:2019, 5.2: basic, week and extended form of 31 May 2024, a Friday."""
    assert About(tested_on=said).checked().tested_on == "2024-05-31"


@pytest.mark.parametrize("said", ["31.5.2024", "2024-02-30", "yesterday", "", "1024-05-31"])
def test_what_is_no_day_of_a_test_is_refused(said: str) -> None:
    with pytest.raises(BadSettings, match="date"):
        About(tested_on=said).checked()


def test_a_day_to_come_is_refused_but_not_tomorrow_as_another_clock_has_it() -> None:
    tomorrow = date.today() + timedelta(days=1)
    assert About(tested_on=tomorrow.isoformat()).checked().tested_on == tomorrow.isoformat()
    with pytest.raises(BadSettings, match="clock"):
        About(tested_on=(tomorrow + timedelta(days=2)).isoformat()).checked()


@pytest.mark.parametrize("name", ["serial", "job", "by", "customer"])
@pytest.mark.parametrize("text", ["", "  ", "x" * 201])
def test_a_name_of_no_letters_or_of_a_page_is_refused(name: str, text: str) -> None:
    with pytest.raises(BadSettings, match=f"--{name}"):
        About(**{name: text}).checked()


@pytest.mark.parametrize("text", ["25:00", "noon", "14.05", "", "14:5", "14:60", "1405", "14:05+02:00"])
def test_a_time_is_one_of_the_day(text: str) -> None:
    with pytest.raises(BadSettings, match="a time such as 14:05"):
        About(tested_at=text).checked()


def test_whose_unit_it_is_comes_onto_the_result() -> None:
    said = About(
        tested_at=" 09:05:10", customer=" customer  77 ", vehicle="blue estate", unit_type="12-34", bench="bench 1"
    )
    about = said.checked().put_on(low_oil()).about
    assert about is not None
    assert (about.tested_at, about.customer, about.vehicle, about.unit_type, about.bench) == (
        "09:05", "customer 77", "blue estate", "12-34", "bench 1",
    )  # fmt: skip
