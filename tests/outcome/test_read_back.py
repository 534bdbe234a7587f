"""Results are written strictly and read leniently: of every format one kept result opens, and a newer one does too.

The kept files are regression data: results of made-up samples, as the version of that time wrote them. None is ever
changed or taken away.
"""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any, get_args

import pytest
from pydantic import ValidationError

from dampkit.errors import BadSettings
from dampkit.outcome.decision_record import VerdictRecord
from dampkit.outcome.result import Result
from dampkit.report.page import checked

KEPT = sorted((Path(__file__).parent / "kept").glob("*.json"))
FORMATS = get_args(Result.model_fields["format"].annotation)


def plain(place: Path = KEPT[0]) -> dict[str, Any]:
    found: dict[str, Any] = json.loads(place.read_text())
    return found


def test_there_is_a_kept_result_of_every_format() -> None:
    assert {place.stem for place in KEPT} == {name.replace("/", "-") for name in FORMATS}


@pytest.mark.parametrize("place", KEPT, ids=lambda place: place.stem)
def test_a_kept_result_opens_and_nothing_of_it_is_lost(place: Path) -> None:
    """Keys that came since stand at what they are when nothing is known of them."""
    again = Result.read(plain(place)).to_dict()
    assert lost(plain(place), again) == []


def lost(old: Any, new: Any, at: str = "") -> list[str]:
    """Places at which the old result said something else than the new one says."""
    if isinstance(old, dict) and isinstance(new, dict):
        return [place for key, value in old.items() for place in lost(value, new.get(key, "gone"), f"{at}.{key}")]
    if isinstance(old, list) and isinstance(new, list) and len(old) == len(new):
        return [place for i, value in enumerate(old) for place in lost(value, new[i], f"{at}.{i}")]
    return [] if old == new else [at]


def test_what_is_lost_is_seen() -> None:
    assert lost({"a": [1, {"b": 2}]}, {"a": [1, {"b": 3, "c": 4}]}) == [".a.1.b"]
    assert lost({"a": 1}, {}) == [".a"]


def test_a_newer_result_with_more_keys_opens_without_them() -> None:
    newer = plain() | {"version": "9.0.0", "new_table": {"x_m": 1.0}}
    newer["verdict"] = newer["verdict"] | {"new_key": "x"}
    newer["coverage"] = [{**row, "new_figure_n": 1.0} for row in newer["coverage"]]
    read = checked(newer)
    assert read.to_dict() == Result.read(plain()).to_dict() | {"version": "9.0.0"}


def test_writing_is_strict() -> None:
    verdict = plain()["verdict"]
    with pytest.raises(ValidationError, match="new_key"):
        VerdictRecord.model_validate({**verdict, "new_key": 1})


def test_what_is_no_result_is_refused_with_the_key_and_the_version_that_made_it() -> None:
    wrong = plain() | {"version": "9.0.0"}
    wrong["verdict"] = wrong["verdict"] | {"action": "sell", "new_key": 1}
    with pytest.raises(BadSettings, match=r"verdict\.action") as caught:
        checked(wrong)
    assert "or use dampkit 9.0.0" in caught.value.do
