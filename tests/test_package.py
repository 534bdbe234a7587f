"""What is handed on: a wheel that is enough by itself, and a source archive that can be tested.

The libraries come from this environment; `.ci/run` installs the wheel into a fresh one.
"""

from __future__ import annotations

import os
import re
import shlex
import subprocess
import sys
import tarfile
import tomllib
import zipfile
from collections.abc import Iterator
from email.parser import Parser
from pathlib import Path

import pytest

import dampkit
from dampkit.app.commands import COMMANDS

ROOT = Path(__file__).parents[1]
README = (ROOT / "README.md").read_text(encoding="utf-8")
WHEEL, SOURCE = "wheel", "sdist"


def build(kind: str, out: Path) -> Path:
    """The one file that the package's own build makes."""
    pytest.importorskip("hatchling")
    command = [sys.executable, "-m", "hatchling", "build", "-t", kind, "-d", str(out)]
    subprocess.run(command, cwd=ROOT, capture_output=True, check=True)
    (made,) = out.iterdir()
    return made


@pytest.fixture(scope="module")
def unpacked(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The wheel as it is installed, outside the tree."""
    place = tmp_path_factory.mktemp("wheel")
    with zipfile.ZipFile(build(WHEEL, place / "out")) as wheel:
        wheel.extractall(place / "site")
    return place / "site"


def run(site: Path, folder: Path, *words: str) -> str:
    """What a command of that package says in that folder."""
    variables = {**os.environ, "PYTHONPATH": str(site)}
    command = [sys.executable, "-m", "dampkit", *words]
    done = subprocess.run(command, cwd=folder, env=variables, capture_output=True, text=True, check=False)
    assert done.returncode == 0, (words, done.stderr)
    return done.stdout


def commands_of_the_readme() -> Iterator[list[str]]:
    """Its commands on sample runs, from its blocks for bash and from its lines."""
    for block in re.findall(r"```sh\n(.*?)```", README, flags=re.S):
        for line in block.replace("\\\n", " ").splitlines():
            yield shlex.split(line.replace(".venv/bin/dampkit", "dampkit"), comments=True)
    for line in re.findall(r"`(dampkit [^`]*)`", README):
        yield shlex.split(line)


ON_SAMPLES = [
    words[1:] for words in commands_of_the_readme() if words[:1] == ["dampkit"] and "sample_runs/" in str(words)
]


def test_the_readme_is_read() -> None:
    assert len(ON_SAMPLES) >= 4
    named = {words[1] for words in commands_of_the_readme() if words[:1] == ["dampkit"] and len(words) > 1}
    assert named <= {*COMMANDS, "COMMAND", "--install-completion", "--version"}
    assert set(COMMANDS) <= set(re.findall(r"`dampkit ([a-z]+)", README))


@pytest.mark.slow
def test_every_command_of_the_readme_works_from_the_wheel_alone(unpacked: Path, tmp_path: Path) -> None:
    code = [sys.executable, "-c", "import dampkit; print(dampkit.__file__)"]
    variables = {**os.environ, "PYTHONPATH": str(unpacked)}
    where = subprocess.run(code, cwd=tmp_path, env=variables, capture_output=True, text=True, check=True).stdout
    assert Path(where.strip()).parents[1] == unpacked
    run(unpacked, tmp_path, "samples", "sample_runs")
    for words in ON_SAMPLES:
        patterns = [sorted(map(str, tmp_path.glob(word))) if "*" in word else [word] for word in words]
        run(unpacked, tmp_path, *(word for words in patterns for word in words))
    for page in ("low_oil.html", "table.html", "by_hand.html"):
        assert "</html>" in (tmp_path / page).read_text(encoding="utf-8")
    for name in COMMANDS:
        assert "Example: " in run(unpacked, tmp_path, name, "--help")
    run(unpacked, tmp_path, "schema", "result")
    run(unpacked, tmp_path, "batch", *map(str, sorted((tmp_path / "sample_runs").glob("loop_*.csv"))), "--pages", "--bench",
        "sample_runs/loop.bench.toml", "--together", "{unit}_*.csv", "--out", "out")  # fmt: skip


@pytest.mark.slow
def test_the_wheel_holds_every_file_of_the_package_and_of_the_samples(unpacked: Path) -> None:
    kept = {path for path in (ROOT / "dampkit").rglob("*") if path.is_file() and "__pycache__" not in path.parts}
    assert len(kept) > 300
    assert {path for path in kept if not (unpacked / path.relative_to(ROOT)).is_file()} == set()
    for sample in (ROOT / "sample_runs").iterdir():
        assert (unpacked / "dampkit" / "sample_runs" / sample.name).read_bytes() == sample.read_bytes()


@pytest.mark.slow
def test_the_wheel_says_one_version_and_what_it_needs(unpacked: Path) -> None:
    (about,) = unpacked.glob("*.dist-info")
    said = Parser().parsestr((about / "METADATA").read_text(encoding="utf-8"))
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    assert (said["Name"], said["Version"]) == ("dampkit", dampkit.__version__)
    assert said["Requires-Python"] == project["requires-python"]
    needed = {re.split(r"[><=\[; ]", line)[0] for line in said.get_all("Requires-Dist") or () if "extra" not in line}
    assert needed == {re.split(r"[><=\[]", line)[0] for line in project["dependencies"]}
    assert not said.get_all("Project-URL")  # none is invented


@pytest.mark.slow
def test_the_source_archive_can_be_tested(tmp_path: Path) -> None:
    with tarfile.open(build(SOURCE, tmp_path / "out")) as archive:
        archive.extractall(tmp_path, filter="data")
    (source,) = tmp_path.glob("dampkit-*")
    command = [sys.executable, "-m", "pytest", "-q", "-n", "0", "-p", "no:cacheprovider", "tests/test_house.py"]
    command += ["tests/test_sample_runs.py::test_the_readme_lists_every_run", "tests/app/test_command_line.py"]
    variables = {**os.environ, "PYTHONPATH": str(source)}
    done = subprocess.run(command, cwd=source, env=variables, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stdout[-3000:]
