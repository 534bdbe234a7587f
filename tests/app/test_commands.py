"""The commands as a person uses them: exit statuses, what goes where, and no file half written."""

from __future__ import annotations

import json
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

import dampkit
from dampkit.app.commands import COMMANDS
from dampkit.app.main import run_command
from dampkit.errors import BadSettings
from dampkit.files import text_output, write_all
from tests.bench.writer import Habit, made_run, write_log

RUNS = Path(__file__).parents[2] / "sample_runs"

BENCH = '[signs]\nforce_positive = "tension"\ndisplacement_positive = "extension"\n[zero]\nforce_n = 0.0\n'
DAMPER = """[damper]
serial = "A-1"
kind = "monotube"
piston_diameter_mm = 36.0
rod_diameter_mm = 12.0
[reference]
velocity_m_s = [0.1, 0.3]
rebound_force_n = [{}, {}]
compression_force_n = [115.0, 295.0]
"""


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A sound log and its settings."""
    place = tmp_path_factory.mktemp("bench")
    write_log(place / "run.csv", Habit(), made_run(((0.05, 2), (1.0, 5), (3.0, 6))))
    (place / "bench.toml").write_text(BENCH)
    (place / "damper.toml").write_text(DAMPER.format(265.0, 745.0))
    (place / "other.toml").write_text(DAMPER.format(900.0, 2700.0))
    return place


def run(*words: object) -> int:
    return run_command([str(word) for word in words])


def error_lines(capsys: pytest.CaptureFixture[str]) -> list[str]:
    return capsys.readouterr().err.strip().splitlines()


def test_analysed_is_0_and_everything_asked_for_is_there(
    folder: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    out, page = tmp_path / "out.json", tmp_path / "out.html"
    words = ["--bench", folder / "bench.toml", "--damper", folder / "damper.toml", "--json", out, "--report", page]
    assert run("analyse", folder / "run.csv", *words) == 0
    assert json.loads(out.read_text())["format"] == "dampkit-result/1"
    assert page.read_text(encoding="utf-8").lstrip().startswith("<!doctype html>")
    said = capsys.readouterr().out
    assert str(page) in said
    assert "next: " in said
    assert sorted(p.name for p in tmp_path.iterdir()) == ["out.html", "out.json"]


def test_serial_job_day_and_person_are_on_the_page_and_in_the_json(folder: Path, tmp_path: Path) -> None:
    out, page = tmp_path / "out.json", tmp_path / "out.html"
    said = ["--serial", "Z-9", "--job", "blue <estate>", "--date", "2024-05-31", "--by", "Ann"]
    words = ["--bench", folder / "bench.toml", "--damper", folder / "damper.toml", "--json", out, "--report", page]
    assert run("analyse", folder / "run.csv", *words, *said) == 0
    result = json.loads(out.read_text())
    assert result["damper"]["serial"] == "Z-9"  # the file says A-1
    about = result["about"]
    assert {key: value for key, value in about.items() if value is not None} == {
        "job": "blue <estate>",
        "tested_on": "2024-05-31",
        "by": "Ann",
    }
    head = page.read_text(encoding="utf-8").split("<main")[0]
    assert "job blue &lt;estate&gt; · tested on 2024-05-31 · by Ann" in head
    assert "Z-9" in head


def test_json_to_standard_output_and_nothing_else(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run("analyse", folder / "run.csv", "--bench", folder / "bench.toml", "--json", "-") == 0
    assert json.loads(capsys.readouterr().out)["run"]["file"] == "run.csv"


def test_fail_on_fault_is_1_unless_fit(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    words = ["analyse", folder / "run.csv", "--bench", folder / "bench.toml", "--damper", folder / "other.toml"]
    assert run(*words) == 0
    capsys.readouterr()
    assert run(*words, "--fail-on-fault") == 1
    lines = error_lines(capsys)
    assert "expected 'fit'" in lines[0]
    assert 1 <= len(lines) <= 3


@pytest.mark.parametrize(
    "words",
    [
        ["analyse"],
        ["analyse", "RUN", "--no-such-option"],
        ["no-such-command"],
        ["analyse", "RUN", "--bench", "none.toml"],
        ["analyse", "RUN", "--bench", "."],
        ["analyse", "RUN", "--bench", "RUN"],
        ["analyse", "RUN", "--json", "RUN"],
        ["analyse", "RUN", "--report", "no/such/folder/out.html"],
        ["analyse", "RUN", "--json", "."],
        ["analyse", "RUN", "--date", "31.5.2024"],
        ["analyse", "RUN", "--serial", ""],
        ["look", "RUN", "--save-bench", "no/such/folder/bench.toml"],
    ],
    ids=" ".join,
)
def test_wrong_usage_or_settings_is_2(words: list[str], folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    before = sorted(p.name for p in folder.iterdir())
    assert run(*[folder / "run.csv" if word == "RUN" else word for word in words]) == 2
    lines = error_lines(capsys)
    assert 1 <= len(lines) <= 3
    assert lines[0].startswith("dampkit: ")
    assert sorted(p.name for p in folder.iterdir()) == before


@pytest.mark.parametrize("content", [b"", b"no table here\n", bytes(range(256)) * 9, b"a,b\n1,2\n3,4\n5,6\n"])
def test_a_log_that_cannot_be_read_is_3(content: bytes, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    log, out = tmp_path / "run.csv", tmp_path / "out.json"
    log.write_bytes(content)
    assert run("analyse", log, "--json", out) == 3
    assert len(error_lines(capsys)) == 3
    assert not out.exists()
    assert run("look", log) == 3


def test_a_log_without_a_full_cycle_is_4(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    log, out = tmp_path / "run.csv", tmp_path / "out.json"
    write_log(log, Habit(), made_run(((0.5, 1),)))
    log.write_text("\n".join(log.read_text().split("\n")[:400]))
    assert run("analyse", log, "--json", out) == 4
    assert len(error_lines(capsys)) == 3
    assert not out.exists()
    assert run("look", log) == 0


def test_an_unexpected_error_is_70_and_one_plain_report(
    folder: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def broken(*_: object) -> None:
        raise ZeroDivisionError("nobody thought of that")

    monkeypatch.setattr("dampkit.read_test", broken)
    assert run("analyse", folder / "run.csv") == 70
    lines = error_lines(capsys)
    assert len(lines) == 2
    assert "please report it" in lines[1]
    with pytest.raises(ZeroDivisionError):
        run("--debug", "analyse", folder / "run.csv")


def test_a_file_that_fails_leaves_the_old_ones(tmp_path: Path) -> None:
    old = tmp_path / "a.json"
    old.write_text("old")

    def fails(_: Path) -> None:
        raise OSError(28, "No space left on device")

    from dampkit.files import Output

    with pytest.raises(BadSettings, match="No space left"):
        write_all([text_output(old, "new"), Output(tmp_path / "b.html", fails)])
    assert old.read_text() == "old"
    assert [p.name for p in tmp_path.iterdir()] == ["a.json"]


def test_look_says_how_the_log_is_understood(folder: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    saved, page = tmp_path / "bench.toml", tmp_path / "look.html"
    words = ["--bench", folder / "bench.toml", "--save-bench", saved, "--page", page]
    assert run("look", folder / "run.csv", *words) == 0
    said = capsys.readouterr().out
    for part in (
        "columns apart by comma",
        "'Displacement (mm)'",
        "top speed, m/s",
        "force in N",
        "declared in bench.toml",
    ):
        assert part in said
    assert "<svg" in page.read_text(encoding="utf-8")
    assert "http" not in page.read_text(encoding="utf-8").replace("http://www.w3.org/2000/svg", "")
    assert run("look", folder / "run.csv", "--bench", saved) == 0


def test_a_reading_saved_from_a_bench_file_keeps_its_comments(folder: Path, tmp_path: Path) -> None:
    mine, saved = tmp_path / "mine.toml", tmp_path / "saved.toml"
    mine.write_text("# the bench by the window\n" + BENCH.replace("tension", 'tension"  # asked twice\n# "', 1))
    assert run("look", folder / "run.csv", "--bench", mine, "--save-bench", saved) == 0
    text = saved.read_text(encoding="utf-8")
    assert text.startswith("# the bench by the window\n")
    assert "# asked twice" in text
    assert "[columns]" in text


def test_look_page_escapes_foreign_text(tmp_path: Path) -> None:
    log, page = tmp_path / "run.csv", tmp_path / "look.html"
    write_log(log, Habit(preamble=4), made_run(((2.0, 3),)))
    log.write_text("<script>alert(1)</script>\n" + log.read_text())
    assert run("look", log, "--page", page) == 0
    assert "<script>" not in page.read_text(encoding="utf-8")


def test_the_version_is_printed_and_the_package_runs_as_a_module(capsys: pytest.CaptureFixture[str]) -> None:
    assert run("--version") == 0
    said = capsys.readouterr().out
    assert said == f"dampkit {dampkit.__version__}\n"
    done = subprocess.run([sys.executable, "-m", "dampkit", "--version"], capture_output=True, text=True, check=True)
    assert done.stdout == said


def test_schema_is_printed(capsys: pytest.CaptureFixture[str]) -> None:
    assert run("schema") == 0
    assert json.loads(capsys.readouterr().out)["title"] == "Result of dampkit"


def test_start_loads_nothing_heavy() -> None:
    """Help must come at once: the modules that take long to load wait for the command that needs them."""
    code = "import sys, dampkit.app.main; print([m for m in ('numpy', 'pandas', 'scipy', 'pydantic', 'jinja2') if m in sys.modules])"
    answer = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert answer.stdout.strip() == "[]"


def test_a_standard_run_loads_no_library_that_takes_longer_to_load_than_the_run(tmp_path: Path) -> None:
    """A log of plain numbers, with damper and vehicle: numpy and pyarrow do."""
    words = ["analyse", f"{RUNS}/sound_twin_tube.csv", "--json", str(tmp_path / "out.json")]
    for kind in ("bench", "damper", "vehicle"):
        words += [f"--{kind}", f"{RUNS}/sound_twin_tube.{kind}.toml"]
    heavy = ("pandas", "scipy", "plotly", "jinja2", "joblib", "numpy.ma")
    code = f"import sys; from dampkit.app.main import run_command; run_command({words!r}); print([m for m in {heavy} if m in sys.modules])"
    answer = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert answer.stdout.splitlines()[-1] == "[]"
    assert (tmp_path / "out.json").exists()


def lines_of(command: Any, *words: str) -> Iterator[list[str]]:
    """The words that ask for a command and for each of those inside it."""
    yield list(words)
    for name, inner in getattr(command, "commands", {}).items():
        yield from lines_of(inner, *words, name)


def test_help_loads_no_library_that_typer_does_not_load_and_no_room() -> None:
    """Of every command, as of wrong usage; what typer loads is what a command with one option of another program does."""
    lines = [[], *(words for name, command in COMMANDS.items() for words in lines_of(command.made(), name))]
    ours = f"""
from dampkit.app.commands import COMMANDS
from dampkit.app.main import run_command
for words in {lines}:
    assert run_command([*words, "--help"]) == 0, words
    assert run_command([*words, "--unheard-of"]) == 2, words
"""
    typers = """
import typer
app = typer.Typer(rich_markup_mode=None)
@app.command()
def one(name: str = typer.Option("", help="An option.")): ...
app(["--help"], standalone_mode=False)
"""
    found = []
    for code in (ours, typers):
        loads = f"import sys; before = set(sys.modules)\n{code}\nprint(*set(sys.modules) - before)"
        done = subprocess.run([sys.executable, "-c", loads], capture_output=True, text=True, check=True)
        found.append(set(done.stdout.splitlines()[-1].split()))
    libraries = [{name.partition(".")[0] for name in names} for names in found]
    assert libraries[0] - libraries[1] - sys.stdlib_module_names == {"dampkit"}
    in_rooms = {name for name in found[0] if name.startswith("dampkit.") and name.count(".") > 1}
    light = {"dampkit.outcome.about", "dampkit.store.question"}  # classes whose fields are options
    assert {name for name in in_rooms if not name.startswith("dampkit.app.")} == light
    assert ["book", "bench", "calibrate"] in lines


@pytest.mark.parametrize(
    ("words", "help_of"),
    [(("need", "--vehicle", "v.toml"), "need"), (("analyse",), "analyse"), (("book", "bench", "frob"), "book bench")],
)
def test_wrong_usage_names_the_help_of_its_own_command(
    words: tuple[str, ...], help_of: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run_command(list(words)) == 2
    assert f"Do: see  dampkit {help_of} --help" in capsys.readouterr().err
