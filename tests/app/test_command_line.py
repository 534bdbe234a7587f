"""The command line itself: how it introduces its commands, completes words, prints anywhere, and copies the samples."""

from __future__ import annotations

import os
import re
import subprocess
import sys
from pathlib import Path

import pytest

from dampkit.app.commands import COMMANDS, GROUPS
from dampkit.app.main import patterns_as_files, run_command
from dampkit.app.samples import kept_samples

ROOT = Path(__file__).parents[2]
SENTENCE = re.compile(r"[A-Z].*\.")


def plain(text: str) -> str:
    """On one line, words that were parted at their hyphen joined."""
    return re.sub(r"(?<=\w-) ", "", " ".join(text.split()))


def run_apart(*words: str, **variables: str) -> subprocess.CompletedProcess[bytes]:
    command = [sys.executable, "-m", "dampkit", *words]
    return subprocess.run(command, capture_output=True, check=False, env={**os.environ, **variables})


def test_the_help_names_every_command_in_a_group_with_a_whole_sentence(capsys: pytest.CaptureFixture[str]) -> None:
    assert run_command(["--help"]) == 0
    said = capsys.readouterr().out
    assert all(f"{group}:\n" in said for group in GROUPS)
    assert all(f"{command.name} {command.said}" in plain(said) for command in COMMANDS.values())
    assert all(SENTENCE.fullmatch(command.said) for command in COMMANDS.values())


def commands_of_groups() -> list[tuple[str, ...]]:
    """The words of every command, those of the groups too."""
    words: list[tuple[str, ...]] = []
    for name, command in COMMANDS.items():
        inner = getattr(command.made(), "commands", {})
        words += [(name, *rest) for rest in ((), *((each,) for each in inner))]
    return words


@pytest.mark.parametrize("words", commands_of_groups(), ids=" ".join)
def test_every_command_explains_itself_with_a_sentence_and_an_example(
    words: tuple[str, ...], capsys: pytest.CaptureFixture[str]
) -> None:
    assert run_command([*words, "-h"]) == 0
    short = capsys.readouterr().out
    assert run_command([*words, "--help"]) == 0
    assert capsys.readouterr().out == short
    assert SENTENCE.fullmatch(plain(short.split("\n\n")[1]))
    prose = short.partition("Arguments:")[0].partition("Options:")[0].partition("Commands:")[0].strip()
    assert not re.search(r"\S {2,}\S", prose)  # a line that the source breaks shows no gap
    assert f"Example: dampkit {' '.join(words)} " in plain(short) + " "


def test_no_words_are_the_first_steps_and_each_of_them_is_a_command(capsys: pytest.CaptureFixture[str]) -> None:
    assert run_command([]) == 0
    steps = [line.split() for line in capsys.readouterr().out.splitlines() if line.strip().startswith("dampkit ")]
    assert len(steps) >= 3
    for _, name, *rest in steps:
        options = {option for parameter in COMMANDS[name].made().params for option in parameter.opts}
        assert {word for word in rest if word.startswith("--")} <= options


def test_a_group_alone_says_what_is_in_it(capsys: pytest.CaptureFixture[str]) -> None:
    assert run_command(["book"]) == 0
    assert "backup" in capsys.readouterr().out


def test_a_misspelt_command_is_answered_with_the_near_one(capsys: pytest.CaptureFixture[str]) -> None:
    assert run_command(["analize"]) == 2
    assert "'analyse'" in capsys.readouterr().err


@pytest.mark.parametrize(
    ("words", "there"),
    [("dampkit an", "analyse"), ("dampkit analyse --veh", "--vehicle"), ("dampkit book ba", "backup")],
)
def test_a_shell_completes_commands_and_options(words: str, there: str) -> None:
    """The variables are those that bash's own completion sets."""
    asked = {"COMP_WORDS": words, "COMP_CWORD": str(len(words.split()) - 1), "_DAMPKIT_COMPLETE": "complete_bash"}
    assert there in run_apart(**asked).stdout.decode().split()


@pytest.mark.parametrize("encoding", ["ascii", "cp1252", "utf-8"])
def test_what_a_stream_cannot_hold_is_replaced(encoding: str, tmp_path: Path) -> None:
    name = "fjäder-\u03a9-\u2603.csv"
    (tmp_path / name).write_text("no table\n")
    done = run_apart("look", str(tmp_path / name), PYTHONIOENCODING=encoding)
    assert done.returncode == 3
    assert name.encode(encoding, errors="replace") in done.stderr
    assert b"Traceback" not in done.stderr


def test_patterns_become_names_where_the_shell_leaves_them(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    for name in ("slow_2.csv", "slow_1.csv", "fast[1].csv", "fast1.csv"):
        (tmp_path / name).touch()
    given = ["analyse", "slow_*.csv", "fast[1].csv", "--together", "{unit}_*.txt", "none*.csv"]
    files = ["slow_1.csv", "slow_2.csv", "fast[1].csv"]
    assert patterns_as_files(given) == ["analyse", *files, "--together", "{unit}_*.txt", "none*.csv"]


def test_help_in_a_pipe_carries_no_colour() -> None:
    assert b"\x1b" not in run_apart("--help", FORCE_COLOR="1").stdout


def test_the_samples_are_copied_byte_for_byte_and_never_over_anything(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    folder = tmp_path / "runs"
    assert run_command(["samples", str(folder)]) == 0
    kept = {path.name: path.read_bytes() for path in (ROOT / "sample_runs").iterdir()}
    assert {path.name: path.read_bytes() for path in folder.iterdir()} == kept
    (folder / "low_oil.csv").unlink()
    capsys.readouterr()
    assert run_command(["samples", str(folder)]) == 0
    assert f"copied to {folder}: 1, there already: {len(kept) - 1};" in capsys.readouterr().out
    (folder / "fade.bench.toml").write_text("# mine\n")
    (folder / "low_oil.csv").unlink()
    assert run_command(["samples", str(folder)]) == 2
    assert "fade.bench.toml" in capsys.readouterr().err
    assert (folder / "fade.bench.toml").read_text() == "# mine\n"
    assert not (folder / "low_oil.csv").exists()


def test_a_checkout_keeps_its_samples_in_one_place() -> None:
    assert {path.parent for path in kept_samples()} == {ROOT / "sample_runs"}
