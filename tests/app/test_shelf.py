"""The library's commands, as a person uses them."""

from __future__ import annotations

from pathlib import Path

import pytest

from dampkit.app.main import run_command

Capture = pytest.CaptureFixture[str]
TEXT = "# measured on the lift\n[columns]\ntime = 'Zeit'\n"


@pytest.fixture
def file(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("DAMPKIT_BOOK", str(tmp_path / "book.sqlite"))
    path = tmp_path / "bench.toml"
    path.write_text(TEXT)
    return path


def run(*words: object) -> int:
    return run_command(["book", *(str(word) for word in words)])


def test_a_bench_goes_in_and_comes_out_with_its_comments(file: Path, tmp_path: Path, capsys: Capture) -> None:
    drawing = tmp_path / "cell.jpg"
    drawing.write_bytes(b"\xff\xd8")
    assert run("bench", "add", "bench 1", file, "--who", "made-up fitter", "--drawing", drawing) == 0
    file.write_text(TEXT + "force = 'Kraft'\n")
    assert run("bench", "add", "bench 1", file, "--why", "new cell") == 0
    assert run("bench", "add", "bench 1", file) == 0
    assert "is this very text already" in capsys.readouterr().out
    assert run("bench", "show", "bench 1", "--version", 1, "--drawings", tmp_path / "out") == 0
    assert capsys.readouterr().out == TEXT
    assert (tmp_path / "out" / "cell.jpg").read_bytes() == b"\xff\xd8"
    assert run("bench", "list") == 0
    assert "new cell" in capsys.readouterr().out
    assert run("bench", "history", "bench 1") == 0
    said = capsys.readouterr().out
    assert "+force = 'Kraft'" in said
    assert said.count("bench 1") == 2


def test_what_is_not_there_is_told(file: Path, capsys: Capture) -> None:
    assert run("vehicle", "show", "blue estate") == 5  # there is no book yet
    assert run("bench", "add", "bench 1", file) == 0
    assert run("bench", "show", "bench 2") == 2
    assert "perhaps 'bench 1'" in capsys.readouterr().err
