"""Tables: nothing in a cell runs, numbers stay numbers, and Parquet keeps text as it is."""

from __future__ import annotations

import csv
from pathlib import Path

import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from dampkit.store.table import safe_cell, write_csv, write_parquet

# the starts that the OWASP page on CSV injection names (from memory), and their full-width forms
STARTS = tuple("=+-@") + tuple("＝＋－＠")
ATTACKS = [
    "=1+1",
    "+1",
    "-1+cmd|' /C calc'!A0",
    "@SUM(A1)",
    "\t=1",
    "\r=1",
    '"=1',
    "ok;=1+1",
    "ok\t=1+1",
    "ok\n=1+1",
    'ok";"=1+1',
    "＝1+1",
    "\x00=1",
]


@pytest.mark.parametrize("attack", ATTACKS)
@pytest.mark.parametrize("separator", [",", ";", "\t"])
def test_no_cell_begins_as_a_formula_whatever_the_spreadsheet_cuts_at(
    tmp_path: Path, attack: str, separator: str
) -> None:
    place = tmp_path / "t.csv"
    write_csv(place, ["a", "b", "n"], [{"a": attack, "b": "safe", "n": -3.5}])
    with place.open(encoding="utf-8-sig", newline="") as file:
        rows = list(csv.reader(file, delimiter=separator))
    cells = [cell for row in rows for cell in row if cell != "-3.5"]
    assert not [cell for cell in cells if cell.lstrip(" \t\r\n\"'\x00").startswith(STARTS) and "'" not in cell]
    assert not [cell for cell in cells if cell.strip(' \t\r\n"\x00').startswith(STARTS)]


@given(st.text(max_size=60))
def test_text_that_no_spreadsheet_would_run_is_left_as_it_is(text: str) -> None:
    harmless = text.translate({ord(c): None for c in "=+-@＝＋－＠\x00"})
    assert safe_cell(harmless) == harmless


def test_numbers_stay_numbers(tmp_path: Path) -> None:
    place = tmp_path / "t.csv"
    write_csv(place, ["n", "i", "none"], [{"n": -1.25e-9, "i": -3}, {"n": 2.0, "i": 4, "none": None}])
    read = pd.read_csv(place, encoding="utf-8-sig")
    assert read["n"].tolist() == [-1.25e-9, 2.0]
    assert read["i"].tolist() == [-3, 4]
    assert read["none"].isna().all()


def test_parquet_keeps_text_numbers_and_gaps(tmp_path: Path) -> None:
    rows: list[dict[str, object]] = [{"a": "=1+1", "n": -1.5, "i": 3}, {"a": None, "n": None, "i": None}]
    write_parquet(tmp_path / "t.parquet", {"a": "text", "n": "number", "i": "count"}, rows * 6000)
    read = pd.read_parquet(tmp_path / "t.parquet")
    assert len(read) == 12000
    assert (read["a"][0], read["n"][0], read["i"][0]) == ("=1+1", -1.5, 3)
    assert read.iloc[1].isna().all()


def test_a_table_that_breaks_off_leaves_the_old_one(tmp_path: Path) -> None:
    place = tmp_path / "t.csv"
    write_csv(place, ["a"], [{"a": "old"}])
    with pytest.raises(ZeroDivisionError):
        write_csv(place, ["a"], ({"a": 1 // n} for n in (1, 0)))
    assert "old" in place.read_text(encoding="utf-8-sig")
    assert [path.name for path in tmp_path.iterdir()] == ["t.csv"]
