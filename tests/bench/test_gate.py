"""What no bench and no workshop would write is refused in plain words: where, what, what was expected, what to do."""

from __future__ import annotations

import gzip
import io
import json
import os
import zipfile
from collections.abc import Callable
from pathlib import Path

import pytest

from dampkit.app.main import run_command
from dampkit.bench import gate
from dampkit.bench.declared import BenchSpec
from dampkit.bench.test import read_run
from dampkit.bench.toml_file import load_toml
from dampkit.errors import BadSettings, UnreadableLog, printable
from dampkit.report.page import stored_result
from dampkit.store.book import book_at
from tests.cost import peak_bytes

HEAD = b"time s,displacement mm,force N\n"
ROWS = b"".join(b"%.2f,%d,%d\n" % (i / 100, i % 7, i % 5) for i in range(60))
BOMB = b"0" * (gate.UNPACKED.usual + 1)


def zipped(name: str, content: bytes) -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr(name, content)
    return out.getvalue()


LOGS: dict[str, tuple[Callable[[], bytes], str]] = {
    "a million columns": (lambda: HEAD + b"1," * 10**6 + b"1\n", "a line of more than"),
    "two thousand columns": (lambda: b"1," * 2000 + b"1\n" + ROWS, "2001 cells in a line"),
    "one line of 100 MB": (lambda: HEAD + ROWS + b"9" * 10**8, "a line of more than"),
    "one line without an end": (lambda: b"x" * 10**6, "a line of more than"),
    "a gzip bomb": (lambda: gzip.compress(BOMB, 9), "bytes unpacked"),
    "half a gzip": (lambda: gzip.compress(HEAD + ROWS)[:-30], "no whole gzip"),
    "gzip in gzip": (lambda: gzip.compress(gzip.compress(HEAD + ROWS)), "gzip within gzip"),
    "a spreadsheet bomb": (lambda: zipped("xl/worksheets/sheet1.xml", BOMB), "bytes unpacked"),
    "a zip of something": (lambda: zipped("holiday.txt", b"hello"), "no spreadsheet that can be read"),
    "no zip at all": (lambda: b"PK\x03\x04" + b"junk" * 50, "no whole spreadsheet"),
    "no old sheet": (lambda: b"\xd0\xcf\x11\xe0" + b"junk" * 500, "no spreadsheet that can be read"),
    "digits": (lambda: b'[{"time s": ' + b"9" * 5000 + b"}]", "no JSON"),
    "deep objects": (lambda: b'{"a":' * 10**5 + b"1" + b"}" * 10**5, "brackets in one another"),
    "deep lists": (lambda: b"[" * 10**5 + b"]" * 10**5, "brackets in one another"),
    "infinity": (lambda: b'[{"time s": Infinity, "force N": 1}]', "Infinity is no number"),
    "unequal lists": (lambda: b'{"time s": [1, 2], "force N": [1], "displacement mm": [1, 2]}', "unequal length"),
    "JSON, no table": (lambda: b'{"note": "none"}', "no table"),
    "1e308": (lambda: HEAD + ROWS.replace(b"0.30,2,", b"0.30,1e308,"), "1e\\+308"),
    "nothing": (lambda: b"", "the file is empty"),
}


@pytest.mark.parametrize("name", LOGS)
def test_logs_beyond_measure_are_refused(name: str, tmp_path: Path) -> None:
    content, said = LOGS[name]
    log = tmp_path / "log.json"
    log.write_bytes(content())

    def refused() -> None:
        with pytest.raises(UnreadableLog, match=said) as caught:
            read_run(log)
        assert len(caught.value.lines()) == 3

    assert peak_bytes(refused) < 500e6


@pytest.mark.parametrize("make", [os.mkfifo, lambda p: p.symlink_to(p), os.mkdir], ids=["pipe", "circle", "directory"])
def test_what_is_no_file_is_refused(make: Callable[[Path], object], tmp_path: Path) -> None:
    place = tmp_path / "place"
    make(place)
    for command in (
        ("look", place),
        ("analyse", place),
        ("page", place, "--report", tmp_path / "out.html"),
        ("analyse", "--bench", place, tmp_path / "log.csv"),
        ("book", "add", place, "--book", tmp_path / "book.sqlite"),
    ):
        assert run_command([str(word) for word in command]) in (2, 3), command


@pytest.mark.skipif(not Path("/dev/zero").exists(), reason="a system without that device")
def test_a_device_is_refused_and_not_waited_for(capsys: pytest.CaptureFixture[str]) -> None:
    assert run_command(["look", "/dev/zero"]) == 3
    assert "this is a device" in capsys.readouterr().err


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("[timing]\nsample_rate_hz = " + "9" * 5000, "not valid TOML"),
        ("[timing]\nsample_rate_hz = 0x" + "f" * 9000, "too long to show"),
        ("x = " + "[" * 10**5 + "]" * 10**5, "brackets in one another"),
        (".".join(["a"] * 10**5) + " = 1", "points in a key"),
        ("#" + "x" * 2 * 10**6, "bytes of a TOML file"),
    ],
    ids=["digits", "hexadecimal", "deep", "long key", "large"],
)
def test_toml_beyond_measure_is_refused(text: str, said: str, tmp_path: Path) -> None:
    place = tmp_path / "bench.toml"
    place.write_text(text)
    with pytest.raises(BadSettings, match=said):
        load_toml(place, BenchSpec)


def test_control_characters_of_a_file_never_reach_the_terminal(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    bench, log = tmp_path / "bench.toml", tmp_path / "run.csv"
    bench.write_text('[columns]\nforce = "\\u001b[31mX"')
    log.write_text("time s,displacement mm,force N\n0,0,0\n")
    assert run_command(["look", str(log), "--bench", str(bench)]) == 3
    assert "\x1b" not in "".join(capsys.readouterr())


@pytest.mark.parametrize(
    ("content", "said"),
    [
        (b'{"a":' * 10**5, "brackets in one another"),
        (b'{"a": ' + b"9" * 5000 + b"}", "no JSON"),
        (b'{"a": NaN}', "NaN is no number"),
        (gzip.compress(BOMB, 9), "bytes unpacked"),
        (b"\xff\xff", "no JSON"),
    ],
    ids=["deep", "digits", "not a number", "bomb", "bytes"],
)
def test_stored_results_beyond_measure_are_refused(content: bytes, said: str, tmp_path: Path) -> None:
    place = tmp_path / "result.json"
    place.write_bytes(content)
    with pytest.raises(BadSettings, match=said):
        stored_result(place)


def test_a_stored_result_with_lists_of_unequal_length_is_refused(tmp_path: Path) -> None:
    from tests.report.made_up import sound

    plain = sound().to_dict()
    curve = plain["valve"]["rebound"]["curve"]
    curve["force_n"] = curve["force_n"][:3]
    place = tmp_path / "result.json"
    place.write_text(json.dumps(plain))
    with pytest.raises(BadSettings, match="unequal length"):
        stored_result(place)


def test_a_limit_can_be_raised_and_says_how(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    log = tmp_path / "log.csv"
    log.write_bytes(HEAD + ROWS)
    monkeypatch.setenv("DAMPKIT_MOST_COLUMNS", "2")
    with pytest.raises(UnreadableLog, match="DAMPKIT_MOST_COLUMNS"):
        read_run(log)
    monkeypatch.setenv("DAMPKIT_MOST_COLUMNS", "3")
    assert read_run(log).rows_used == 60
    monkeypatch.setenv("DAMPKIT_MOST_COLUMNS", "many")
    with pytest.raises(BadSettings, match="whole number"):
        read_run(log)


def test_control_characters_do_not_reach_the_terminal(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    log = tmp_path / "log\x1b[2J.csv"
    log.write_bytes(b"bench \x1b]0;x\x07\n" + HEAD.replace(b"force", b"force \x1b[31m") + ROWS)
    assert run_command(["look", str(log)]) in (0, 3)
    said = capsys.readouterr()
    for text in (said.out, said.err):
        assert printable(text) == text


def test_a_sheet_with_a_cell_far_away_ends_no_process(tmp_path: Path) -> None:
    """Such a cell makes a reader ask for 17 thousand million cells, which would end the process that asks."""
    from openpyxl import Workbook

    book = Workbook()
    sheet = book.active
    for i in range(40):
        sheet.append([i / 100, float(i % 7), float(i % 5)])
    sheet["XFD1048576"] = 1.0
    book.save(tmp_path / "far.xlsx")
    with pytest.raises(UnreadableLog, match="more memory than"):
        read_run(tmp_path / "far.xlsx")


def test_a_line_of_a_sheet_is_its_row(tmp_path: Path) -> None:
    from openpyxl import Workbook

    from dampkit.bench.record import open_record

    book = Workbook()
    sheet = book.active
    for k, head in enumerate(("time s", "displacement mm", "force N"), start=1):
        sheet.cell(4, k, head)
        for i in range(40):
            sheet.cell(5 + i, k, i / 10)
    book.save(tmp_path / "run.xlsx")
    assert open_record(tmp_path / "run.xlsx", BenchSpec()).layout.first_line == 5


def test_an_archive_bomb_is_refused(tmp_path: Path) -> None:
    from dampkit.store.archive import import_archive

    place = tmp_path / "archive.zip"
    place.write_bytes(zipped("content/" + "0" * 64, BOMB))
    with (
        book_at(tmp_path / "book.sqlite", create=True) as book,
        pytest.raises(BadSettings, match="DAMPKIT_MOST_UNPACKED"),
    ):
        import_archive(book, place)
