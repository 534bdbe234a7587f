"""The commands of the studies."""

from __future__ import annotations

from pathlib import Path

import pytest

from dampkit.studies.__main__ import app, main

NAMES = [str(command.name) for command in app.registered_commands]


def test_the_studies_are_these() -> None:
    assert NAMES == ["fit", "faults", "mix", "advice", "samples", "low-oil", "sample-pages"]


@pytest.mark.parametrize("name", NAMES)
def test_every_study_has_help_with_an_example(name: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main([name, "--help"]) == 0
    assert f"Example: python -m dampkit.studies {name}" in " ".join(capsys.readouterr().out.split())


def test_a_page_that_cannot_be_written_is_wrong_usage(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["advice", str(tmp_path / "none" / "page.html")]) == 2
    assert "there is no directory" in capsys.readouterr().err
