"""Every example of the guide is run as it stands, in a copy of the sample runs; what it says is compared word by word.

The lines that are said to come are regression data: they come from our own output.
"""

from __future__ import annotations

import shutil
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from dampkit.app.main import run_command
from dampkit.bench.toml_file import declared
from dampkit.job import MODELS, model_of
from dampkit.outcome.workshop import WorkshopSpec
from dampkit.store.bench_record import CalibrationSpec
from dampkit.store.build_record import WorkSpec
from tests.guide.blocks import WRITTEN, Typed, blocks, typed

SAMPLES = Path(__file__).parents[2] / "sample_runs"
OTHER_MODELS: dict[str, Any] = {"work": WorkSpec, "calibration": CalibrationSpec, "workshop": WorkshopSpec}
LANGUAGES = {"console", "python", "toml"}


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Path]:
    """A copy of the samples to work in, gone afterwards, and a book of its own."""
    work = tmp_path / "samples"
    shutil.copytree(SAMPLES, work)
    monkeypatch.chdir(work)
    monkeypatch.setenv("DAMPKIT_BOOK", str(tmp_path / "book.sqlite"))
    yield work
    monkeypatch.chdir(tmp_path)
    shutil.rmtree(work)


@pytest.mark.parametrize("name", WRITTEN)
def test_every_example_does_what_it_says(name: str, folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    for language, text in blocks(name):
        assert language in LANGUAGES, f"{name}: a block that nothing checks: {language!r}"
        if language == "toml":
            use_toml(text, folder)
        if language == "python":
            use_python(text, folder)
        for command in typed(text) if language == "console" else ():
            use_command(command, capsys)


def use_toml(text: str, folder: Path) -> None:
    """It names its file in its first line, loads in the model of that kind, and lies there for the commands after it."""
    place = folder / text.partition("\n")[0].removeprefix("# ")
    assert place.suffix == ".toml"
    place.write_text(text, encoding="utf-8")
    kind = place.stem.rpartition(".")[2]
    declared(place, model_of(kind) if kind in MODELS else OTHER_MODELS[kind])


def use_python(text: str, folder: Path) -> None:
    done = subprocess.run(
        [sys.executable, "-W", "error", "-c", text], cwd=folder, capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stderr[-2000:]


def use_command(command: Typed, capsys: pytest.CaptureFixture[str]) -> None:
    if command.words[0] == "cd":
        return
    assert command.words[0] == "dampkit"
    capsys.readouterr()
    status = run_command(command.words[1:])
    printed = capsys.readouterr()
    seen = " ".join((printed.out + printed.err).split())
    assert status == command.status, (command.words, printed.err)
    for line in command.said:
        assert " ".join(line.split()) in seen, (command.words, line, seen[:2000])
