"""The commands of the job book, as a person uses them."""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Any

import pandas as pd
import pytest

import dampkit
from dampkit.app import book_write
from dampkit.app.main import run_command
from dampkit.outcome.result import Result
from tests.app.logs import bad_log, good_log

Capture = pytest.CaptureFixture[str]


@pytest.fixture(scope="module")
def log(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return good_log(tmp_path_factory.mktemp("bench") / "run.csv")


@pytest.fixture
def place(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A book of its own, named by the environment."""
    monkeypatch.setenv("DAMPKIT_BOOK", str(tmp_path / "book.sqlite"))
    return tmp_path / "book.sqlite"


@pytest.fixture(scope="module")
def result(log: Path) -> Result:
    return dampkit.analyse(dampkit.read_run(log, log.with_suffix(".bench.toml")), log.with_suffix(".damper.toml"))


@pytest.fixture
def analysed(result: Result, monkeypatch: pytest.MonkeyPatch) -> None:
    """The log was analysed once; the commands under test get that result again, which saves time."""

    def known(test: Any, *_: object) -> Result:
        assert test.files[0].sha256 == result.run.sha256
        return result

    monkeypatch.setattr(book_write, "analyse_job", known)


def run(*words: object) -> int:
    return run_command(["book", *(str(word) for word in words)])


def add(log: Path, *more: object) -> int:
    settings = ["--bench", log.with_suffix(".bench.toml"), "--damper", log.with_suffix(".damper.toml")]
    return run("add", log, *settings, "--who", "made-up fitter", *more)


def test_a_log_goes_in_and_comes_out(place: Path, log: Path, tmp_path: Path, capsys: Capture) -> None:
    photo = tmp_path / "seal.jpg"
    photo.write_bytes(b"\xff\xd8\xff")
    assert add(log, "--job", "blue, rear", "--note", "came leaking", "--photo", photo, "--tested-on", "2024-05-31") == 0
    assert "added as entry 1" in capsys.readouterr().out
    assert run("note", 1, "new seal", "--photo-path", photo, "--who", "x") == 0
    assert (
        run(
            "show", 1, "--log", tmp_path / "out.csv", "--json", tmp_path / "out.json", "--report", tmp_path / "out.html"
        )
        == 0
    )
    said = capsys.readouterr().out
    for words in ("unit A-1, tested on 2024-05-31", "blue, rear", "by made-up fitter: came leaking", "by x: new seal"):
        assert words in said
    assert said.count("photo seal.jpg") == 2
    assert run("show", 1, "--photos", tmp_path / "photos") == 0
    assert {p.name: p.read_bytes() for p in (tmp_path / "photos").iterdir()} == {"1-seal.jpg": b"\xff\xd8\xff"}
    assert run("show", 1, "--photos", tmp_path / "photos") == 2  # nothing is overwritten
    capsys.readouterr()
    assert (tmp_path / "out.csv").read_bytes() == log.read_bytes()
    assert json.loads((tmp_path / "out.json").read_text())["damper"]["serial"] == "A-1"
    assert "A-1" in (tmp_path / "out.html").read_text(encoding="utf-8")


@pytest.mark.usefixtures("analysed")
def test_json_to_standard_output_is_nothing_else(place: Path, log: Path, capsys: Capture) -> None:
    add(log)
    capsys.readouterr()
    assert run("show", 1, "--json", "-") == 0
    assert json.loads(capsys.readouterr().out)["format"] == "dampkit-result/1"


@pytest.mark.usefixtures("analysed")
def test_the_same_again_is_said_to_be_there(place: Path, log: Path, capsys: Capture) -> None:
    assert (add(log), add(log)) == (0, 0)
    assert "already in the book: entry 1" in capsys.readouterr().out


@pytest.mark.usefixtures("analysed")
def test_list_find_history_and_correction(place: Path, log: Path, tmp_path: Path, capsys: Capture) -> None:
    add(log, "--job", "wrong car", "--tested-on", "2020-01-01")
    add(log, "--job", "blue, rear", "--tested-on", "2020-01-01", "--corrects", 1)
    add(log, "--job", "again", "--tested-on", "2024-01-01")
    capsys.readouterr()
    assert run("list") == 0
    listed = capsys.readouterr().out
    assert ("wrong car" in listed, "blue, rear" in listed) == (False, True)
    assert run("list", "--corrected", "--until", "2023-12-31") == 0
    listed = capsys.readouterr().out
    assert "(corrected by entry 2)" in listed
    assert "again" not in listed
    assert run("find", "BLUE") == 0
    assert capsys.readouterr().out.count("run.csv") == 1
    assert run("find", "--log", log, "--corrected") == 0
    assert capsys.readouterr().out.count("run.csv") == 3
    assert run("history", "A-1", "--page", tmp_path / "h.html") == 0
    assert re.search("No change shown over 2 tests: .* the interval holds zero", capsys.readouterr().out)
    assert "2 tests, 2020-01-01 to 2024-01-01" in (tmp_path / "h.html").read_text()


@pytest.mark.usefixtures("analysed")
@pytest.mark.usefixtures("place", "analysed")
def test_a_clock_that_went_back_is_told(log: Path, monkeypatch: pytest.MonkeyPatch, capsys: Capture) -> None:
    with monkeypatch.context() as ahead:
        ahead.setattr("dampkit.store.book.now", lambda: "2099-01-01T08:00:00.000+00:00")
        assert add(log) == 0
    capsys.readouterr()
    assert run("list") == 0
    said = capsys.readouterr()
    assert "A-1" in said.out
    assert "the book was written at 2099-01-01T08:00 (UTC): set the clock" in said.err


def test_export_import_check_and_backup(place: Path, log: Path, tmp_path: Path, capsys: Capture) -> None:
    add(log)
    second = tmp_path / "second.sqlite"
    for words in (
        ("export", tmp_path / "x.zip"),
        ("import", tmp_path / "x.zip", "--book", second),
        ("check", "--book", second),
        ("backup", tmp_path / "copy.sqlite"),
        ("check", "--book", tmp_path / "copy.sqlite"),
        ("export", tmp_path / "x.csv"),
        ("export", tmp_path / "x.parquet"),
    ):
        assert run(*words) == 0
    assert capsys.readouterr().out.count("1 entries, every byte as it was added") == 2
    for table in (pd.read_csv(tmp_path / "x.csv", encoding="utf-8-sig"), pd.read_parquet(tmp_path / "x.parquet")):
        assert table["serial"].tolist() == ["A-1"]
        ends = (table[f"lost_motion_rebound_mm{end}"][0] for end in ("_low", "", "_high"))
        assert next(ends) < next(ends) < next(ends)  # friction is not known, so the interval may hold zero
        assert table["friction_n"].isna().all()  # one fast stage does not show it


@pytest.mark.usefixtures("analysed")
def test_a_damaged_book_fails_its_check(place: Path, log: Path, capsys: Capture) -> None:
    add(log)
    data = bytearray(place.read_bytes())
    middle = len(data) // 2
    data[middle : middle + 5000] = bytes(5000)
    place.write_bytes(data)
    assert run("check") == 5
    assert "go back to the last backup" in capsys.readouterr().err


@pytest.mark.usefixtures("analysed")
@pytest.mark.parametrize(
    ("words", "status", "said"),
    [
        (["show", 9], 2, "no entry 9"),
        (["history", "A"], 2, "perhaps 'A-1'"),
        (["list", "--since", "31.5.2024"], 2, "a date such as 2024-05-31"),
        (["note", 1], 2, "neither a text nor a photo"),
        (["note", 9, "x"], 2, "no entry 9"),
        (["note", 1, "--photo", "none.jpg"], 2, "none.jpg: no such file"),
        (["export", "x.doc"], 2, "ends in .zip, .csv or .parquet"),
        (["import", "none.zip"], 2, "none.zip: no such file"),
        (["find", "--log", "none.csv"], 2, "none.csv: no such file"),
        (["list", "--book", "none.sqlite"], 5, "no job book here"),
        (["list", "--book", __file__], 5, "not a job book"),
        (["list", "--limit", "0"], 2, "limit"),
    ],
)
def test_what_cannot_be_done_is_told_in_three_lines_at_most(
    place: Path, log: Path, capsys: Capture, words: list[object], status: int, said: str
) -> None:
    add(log)
    capsys.readouterr()
    assert run(*words) == status
    told = capsys.readouterr().err
    assert said in told
    assert len(told.strip().splitlines()) <= 3


@pytest.mark.usefixtures("analysed")
@pytest.mark.parametrize(
    ("more", "said"),
    [
        (["--serial", "B-7"], "the damper file says 'A-1'"),
        (["--tested-on", "yesterday"], "a date such as"),
        (["--corrects", "5"], "no entry 5"),
        (["--photo", "none.jpg"], "none.jpg: no such file"),
    ],
)
def test_what_cannot_be_added_adds_nothing(place: Path, log: Path, capsys: Capture, more: list[str], said: str) -> None:
    add(log, "--job", "first")
    capsys.readouterr()
    assert add(log, *more) == 2
    assert said in capsys.readouterr().err
    run("list", "--corrected")
    assert capsys.readouterr().out.count("run.csv") == 1


def test_a_log_that_cannot_be_read_adds_nothing(place: Path, tmp_path: Path, capsys: Capture) -> None:
    assert run("add", bad_log(tmp_path / "bad.csv")) == 3
    assert run("add", tmp_path / "none.csv") == 3
    assert run("add", tmp_path) == 3
    assert not place.exists()
    assert "none.csv" in capsys.readouterr().err


@pytest.mark.usefixtures("analysed")
def test_foreign_text_cannot_steer_the_terminal(place: Path, log: Path, capsys: Capture) -> None:
    add(log, "--job", "\x1b[2Jgone\u202e", "--note", "\x1b]0;x\x07")
    run("list")
    run("show", 1)
    said = capsys.readouterr().out
    assert not {"\x1b", "\x07", "\u202e"} & set(said)


@pytest.mark.usefixtures("analysed")
def test_a_wrong_word_is_amended_and_every_word_is_shown(place: Path, log: Path, capsys: Capture) -> None:
    add(log, "--customer", "Made-Up Motors")
    assert run("amend", 1, "--serial", "A-77", "--customer", "", "--why", "digits", "--who", "second fitter") == 0
    said = capsys.readouterr().out
    assert "serial was A-1, is now A-77" in said
    assert "customer was Made-Up Motors, is now not said" in said
    assert run("show", 1) == 0
    said = capsys.readouterr().out
    assert "unit A-77" in said
    assert "by second fitter: serial A-77 digits" in said
    assert run("amend", 1, "--serial", "A-77") == 0
    assert "stands as it was" in capsys.readouterr().out
    assert [run("amend", 1), run("amend", 1, "--tested-on", "31.5.24"), run("amend", 1, "--tested-at", "noon")] == [
        2
    ] * 3


@pytest.mark.usefixtures("analysed")
def test_the_same_bytes_under_two_serials_are_asked_about(place: Path, log: Path, capsys: Capture) -> None:
    add(log)
    assert run("amend", 1, "--serial", "A-2") == 0
    assert add(log, "--job", "other") == 2
    said = capsys.readouterr().err
    assert "entry 1 of unit A-2 is this very log" in said
    assert "--even-so" in said
    assert add(log, "--job", "other", "--even-so") == 0


@pytest.mark.usefixtures("analysed")
def test_an_empty_list_names_what_is_near(place: Path, log: Path, capsys: Capture) -> None:
    add(log, "--job", "blue estate")
    assert run("find", "bleu estate") == 0
    assert "near it: 'blue estate'" in capsys.readouterr().err
    assert run("list", "--verdict", "replace") == 0
    assert "no entry fits" in capsys.readouterr().err


def test_an_entry_without_a_serial_is_asked_about(place: Path, log: Path, capsys: Capture) -> None:
    assert run("add", log, "--bench", log.with_suffix(".bench.toml")) == 0
    assert "no serial: `dampkit book amend 1 --serial SERIAL`" in capsys.readouterr().err
    assert run("check", "--again") == 0
    assert "stored" not in capsys.readouterr().out


@pytest.mark.usefixtures("analysed")
def test_work_is_written_down_and_shown(place: Path, log: Path, tmp_path: Path, capsys: Capture) -> None:
    add(log)
    sheet = tmp_path / "work.toml"
    sheet.write_text('[work]\nparts = ["rod seal"]\n[work.as_built.rebound]\nclicks = 8\n')
    assert run("work", 1) == 0
    assert "no work is written down" in capsys.readouterr().out
    assert run("work", 1, sheet, "--date", "2024-06-01", "--who", "fitter", "--page", tmp_path / "w.html") == 0
    said = capsys.readouterr().out
    assert "Rebound: 8 clicks from closed" in said
    assert "after: not tested yet" in said
    assert "Parts: rod seal" in (tmp_path / "w.html").read_text()
    sheet.write_text("[work]\nbore = 27.0\n")
    assert run("work", 1, sheet) == 2
    assert "bore_mm" in capsys.readouterr().err
