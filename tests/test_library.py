"""The public names: each described, its example run, the whole light to import."""

from __future__ import annotations

import doctest
import inspect
import pickle
import re
import shutil
import subprocess
import sys
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
import pytest

import dampkit

SAMPLES = Path(__file__).parent.parent / "sample_runs"
FUNCTIONS = [name for name in dampkit.__all__ if inspect.isfunction(getattr(dampkit, name))]
CLASSES = [name for name in dampkit.__all__ if inspect.isclass(getattr(dampkit, name))]
ERRORS = [name for name in CLASSES if issubclass(getattr(dampkit, name), Exception)]
SECTIONS = ("Parameters", "Returns", "Raises", "Notes", "Examples")
NOTHING_BACK = {"write_report"}
FLAGS = doctest.ELLIPSIS | doctest.NORMALIZE_WHITESPACE
HEAVY = ("numpy", "scipy", "pandas", "plotly", "pydantic", "jinja2", "joblib", "typer")


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Where examples run: with the sample runs beside, and room for what they write."""
    place = tmp_path_factory.mktemp("examples")
    shutil.copytree(SAMPLES, place / "sample_runs")
    return place


def section(name: str, heading: str) -> str:
    doc = inspect.getdoc(getattr(dampkit, name)) or ""
    found = re.search(rf"^{heading}\n-+\n(.*?)(?=\n\n\w+\n-+\n|\Z)", doc, re.MULTILINE | re.DOTALL)
    return found[1] if found else ""


def test_the_list_is_sorted_and_holds_all_that_was_fixed() -> None:
    fixed = """read_run read_test load_result analyse curves fit diagnose need compare settings reference batch open_book
        write_report DampkitError BadSettings UnreadableLog DataError CannotAnalyse UnusableBook"""
    assert sorted(dampkit.__all__) == list(dampkit.__all__)
    assert set(fixed.split()) <= set(dampkit.__all__) <= set(dir(dampkit))
    assert set(dampkit.__all__) == {*FUNCTIONS, *CLASSES, "__version__"}
    with pytest.raises(AttributeError, match="no_such_name"):
        dampkit.no_such_name  # noqa: B018


@pytest.mark.parametrize("name", FUNCTIONS)
def test_a_function_says_what_it_takes_gives_raises_and_where_it_is_from(name: str) -> None:
    function = getattr(dampkit, name)
    for heading in SECTIONS:
        if heading != "Returns" or name not in NOTHING_BACK:
            assert section(name, heading), heading
    entries = re.findall(r"^(\w[\w, ]*)$", section(name, "Parameters"), re.MULTILINE)
    assert {p for entry in entries for p in entry.split(", ")} == set(inspect.signature(function).parameters)
    assert "ource" in section(name, "Notes")
    returns = inspect.signature(function).return_annotation
    if name not in NOTHING_BACK:
        assert section(name, "Returns").split("\n")[0].removeprefix("context manager of ") in str(returns)


@pytest.mark.parametrize("name", FUNCTIONS)
def test_a_function_names_units_where_it_gives_numbers(name: str) -> None:
    given = section(name, "Returns") + section(name, "Parameters")
    assert name in NOTHING_BACK or re.search(r"\bSI\b|\bN\b|m/s", given)


@pytest.mark.parametrize("name", FUNCTIONS)
def test_errors_that_are_named_are_of_the_family(name: str) -> None:
    named = {word for line in re.findall(r"^\w.*$", section(name, "Raises"), re.MULTILINE) for word in line.split(", ")}
    assert named
    assert named <= set(ERRORS)


@pytest.mark.parametrize("name", [*FUNCTIONS, *CLASSES])
def test_its_example_runs(name: str, folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(folder)
    doc = inspect.getdoc(getattr(dampkit, name)) or ""
    found = doctest.DocTestParser().get_doctest(doc, {"dampkit": dampkit}, name, None, None)
    assert found.examples, f"{name} has no example"
    said: list[str] = []
    runner = doctest.DocTestRunner(optionflags=FLAGS, verbose=False)
    assert runner.run(found, out=said.append).failed == 0, "".join(said)


def test_the_example_of_the_whole_runs(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(folder)
    found = doctest.DocTestParser().get_doctest(dampkit.__doc__ or "", {"dampkit": dampkit}, "dampkit", None, None)
    assert found.examples
    assert doctest.DocTestRunner(verbose=False).run(found).failed == 0


@pytest.mark.parametrize("call", [dampkit.analyse, dampkit.curves, dampkit.fit, dampkit.diagnose])
def test_a_path_where_a_test_belongs_is_told_from_one(call: Any) -> None:
    with pytest.raises(dampkit.BadSettings, match="found a str") as caught:
        call("RUN.csv")
    assert "read_run" in caught.value.do


def test_a_model_of_another_kind_is_refused() -> None:
    car = dampkit.Job.load(vehicle=SAMPLES / "low_oil.vehicle.toml").vehicle
    with pytest.raises(dampkit.BadSettings, match="found a VehicleSpec"):
        dampkit.Job.load(damper=car)  # type: ignore[arg-type]


FIXED = {  # as published; more may be added behind, none of these dropped, renamed or moved
    "analyse": "run damper vehicle inspection costs stock",
    "analyse_job": "run job ride",
    "batch": "tests bench damper vehicle processes",
    "compare": "tests bench damper vehicle allow_percent before_after",
    "curves": "run",
    "diagnose": "run damper",
    "fit": "run damper",
    "load_result": "source",
    "need": "vehicle",
    "open_book": "place create",
    "read_run": "source bench name",
    "read_test": "sources bench names",
    "reference": "tests bench damper share confidence",
    "settings": "tests at bench damper vehicle step",
    "write_report": "result path imperial",
}


@pytest.mark.parametrize("name", FUNCTIONS)
def test_parameters_stay_as_they_were_published(name: str) -> None:
    words = FIXED[name].split()
    assert list(inspect.signature(getattr(dampkit, name)).parameters)[: len(words)] == words


def test_the_block_of_the_readme_runs(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    names = {"SLOW": "speeds_1", "FAST": "speeds_2", "LEFT": "sound_twin_tube", "RIGHT": "internal_leak"}
    for name, sample in names.items():
        shutil.copy(SAMPLES / f"{sample}.csv", tmp_path / f"{name}.csv")
    for kind in ("bench", "damper", "vehicle"):
        shutil.copy(SAMPLES / f"sound_twin_tube.{kind}.toml", tmp_path / f"{kind.upper()}.toml")
    (tmp_path / "LOGS").mkdir()
    shutil.copy(SAMPLES / "drawing_table.csv", tmp_path / "LOGS")
    block = (
        (SAMPLES.parent / "README.md").read_text().split("## From Python")[1].split("```python\n")[1].split("```")[0]
    )
    t = np.arange(0.0, 6.0, 0.002)
    given: dict[str, Any] = {"t": t, "x": 25.0 * np.sin(6.0 * t), "f": 900.0 * np.cos(6.0 * t)}
    exec(compile(block, "README.md", "exec"), given)
    assert given["pair"].answers == ("out",)
    assert given["many"]["action"].tolist() == ["undecided"]
    assert (tmp_path / "RUN.html").stat().st_size > 0


def test_parts_of_a_result_are_printed_short() -> None:
    """A part is looked at, too: lists of numbers are counted."""
    run = dampkit.read_run(SAMPLES / "low_oil.csv", bench=SAMPLES / "low_oil.bench.toml")
    result = dampkit.analyse(run)
    for part in (result.valve, result.run.stages[0], result.run, result.statics):
        assert len(repr(part)) < 3000
    assert "81 values" in repr(result.valve.rebound.curve)
    for step in (run, dampkit.curves(run), dampkit.fit(run), dampkit.diagnose(run), result):
        assert len(repr(step)) < 1500


@pytest.mark.slow
def test_many_over_two_processes_are_the_same_as_over_one() -> None:
    table = pd.DataFrame(
        {"velocity m/s": [0.1, 0.3, 0.6], "rebound N": [400.0, 900.0, 1300.0], "compression N": [300.0, 500.0, 700.0]}
    )
    tests: list[Any] = [SAMPLES / "drawing_table.csv", table, {"force_n": [1.0]}, b"no table"]
    one, two = (dampkit.batch(tests, processes=n) for n in (1, 2))
    assert one.names == two.names
    assert one.results == two.results
    assert [(n, e.lines()) for n, e in one.errors] == [(n, e.lines()) for n, e in two.errors]
    assert [type(found).__name__ for found in two.outcomes] == ["Result", "Result", "DataError", "UnreadableLog"]


def test_processes_that_are_kept_follow_into_another_folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    for name in ("first", "second"):
        (tmp_path / name).mkdir()
        for n in range(2):
            shutil.copy(SAMPLES / "drawing_table.csv", tmp_path / name / f"{name}_{n}.csv")
        monkeypatch.chdir(tmp_path / name)
        assert not dampkit.batch([f"{name}_0.csv", f"{name}_1.csv"], processes=2).errors


def test_importing_it_imports_nothing_heavy() -> None:
    code = f"import sys, dampkit; print(*[m for m in {HEAVY!r} if m in sys.modules])"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True, cwd=SAMPLES.parent)
    assert done.stdout.split() == []


def test_the_function_curves_stays_itself_when_its_room_is_imported() -> None:
    code = (
        "import dampkit, dampkit.curves.trace, dampkit.analyse; from dampkit.curves.loop import Loop; "
        "assert callable(dampkit.curves) and callable(dampkit.analyse); print(dampkit.curves.__name__)"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True, cwd=SAMPLES.parent)
    assert done.stdout.split() == ["curves"]


@pytest.mark.parametrize("name", ERRORS)
def test_an_error_comes_whole_from_another_process(name: str) -> None:
    error = getattr(dampkit, name)("run.csv:3", "found 'x'", "a number", "correct it")
    again = pickle.loads(pickle.dumps(error))
    assert type(again) is type(error)
    assert again.lines() == error.lines()
    assert again.exit_status == error.exit_status


@pytest.mark.parametrize(
    "call", [dampkit.read_test, dampkit.compare, dampkit.settings, dampkit.reference, dampkit.batch]
)
@pytest.mark.parametrize("one", ["/no/such/run.csv", Path("run.csv"), b"a,b", {"time_s": [0.0]}], ids=repr)
def test_one_record_in_place_of_several_is_refused_and_not_taken_letter_by_letter(call: Any, one: Any) -> None:
    with pytest.raises(dampkit.BadSettings, match="which is one record"):
        call(one)


def test_what_completes_in_a_shell_is_what_is_public() -> None:
    assert dir(dampkit) == sorted(dampkit.__all__)
