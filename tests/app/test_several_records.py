"""Tests of several records through book, archive and batch: every record's bytes and hash are kept."""

from __future__ import annotations

import csv
import hashlib
import sqlite3
from pathlib import Path

import pytest

from dampkit.app.logs import together
from dampkit.app.main import run_command
from dampkit.errors import BadSettings
from dampkit.store.book import book_at
from dampkit.store.check import complaints
from tests.app.logs import good_log
from tests.bench.writer import Habit, made_run, write_log


def run(*words: object) -> int:
    return run_command([str(word) for word in words])


@pytest.fixture
def two(tmp_path: Path) -> list[Path]:
    logs = [tmp_path / "A1_slow.csv", tmp_path / "A1_fast.csv"]
    for log, frequency_hz in zip(logs, (1.0, 3.0), strict=True):
        write_log(log, Habit(), made_run(((frequency_hz, 4),)))
    return logs


def test_the_book_keeps_every_record_and_an_archive_carries_them(two: list[Path], tmp_path: Path) -> None:
    book, other, archive = tmp_path / "a.sqlite", tmp_path / "b.sqlite", tmp_path / "x.zip"
    assert run("book", "add", *two, "--book", book, "--who", "x") == 0
    assert run("book", "export", archive, "--book", book) == 0
    assert run("book", "import", archive, "--book", other) == 0
    for place in (book, other):
        with book_at(place) as opened:
            assert opened.records(1) == tuple((log.name, log.read_bytes()) for log in two)
            assert not complaints(opened)
    assert run("book", "show", 1, "--log", tmp_path / "out.csv", "--book", other) == 0
    assert (tmp_path / "out-2.csv").read_bytes() == two[1].read_bytes()


def test_a_lost_record_is_a_complaint(two: list[Path], tmp_path: Path) -> None:
    place = tmp_path / "a.sqlite"
    assert run("book", "add", *two, "--book", place, "--who", "x") == 0
    raw = sqlite3.connect(place)
    for (name,) in raw.execute("SELECT name FROM sqlite_master WHERE type = 'trigger'").fetchall():
        raw.execute(f"DROP TRIGGER {name}")
    raw.execute("DELETE FROM content WHERE sha256 = ?", (hashlib.sha256(two[1].read_bytes()).hexdigest(),))
    raw.commit()
    raw.close()
    with book_at(place) as book:
        assert any("A1_fast.csv" in line for line in complaints(book))


@pytest.mark.parametrize("how", ["folder", "{unit}_*.csv"])
def test_a_batch_takes_the_records_of_a_unit_together(how: str, two: list[Path], tmp_path: Path) -> None:
    (tmp_path / "units").mkdir()
    good_log(tmp_path / "units" / "B2.csv")
    for log in two:
        folder = tmp_path / "units" / ("A1" if how == "folder" else "")
        folder.mkdir(exist_ok=True)
        log.rename(folder / log.name)
    out = tmp_path / "out"
    words = ("--jobs", 1, "--together", how, "--book", tmp_path / "c.sqlite", "--who", "x")
    assert run("batch", tmp_path / "units", "--out", out, *words) == 0
    with (out / "table.csv").open(encoding="utf-8-sig", newline="") as file:
        stages = {Path(row["file"]).name: int(row["stages"]) for row in csv.DictReader(file)}
    assert stages == {"A1_fast.csv": 2, "B2.csv": 1}
    with book_at(tmp_path / "c.sqlite") as book:
        assert sorted(len(book.records(number)) for number in (1, 2)) == [1, 2]


def test_records_of_a_unit_are_in_the_order_of_their_numbers() -> None:
    logs = [Path("a", name) for name in ("u1_10.csv", "u1_9.csv", "u2_1.csv", "notes.csv")]
    found = [[log.name for log in test] for test in together(logs, "{unit}_*.csv")]
    assert found == [["u1_9.csv", "u1_10.csv"], ["u2_1.csv"], ["notes.csv"]]
    with pytest.raises(BadSettings, match="pattern such as"):
        together(logs, "*.csv")
