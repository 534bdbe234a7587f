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


def test_importing_it_imports_nothing_heavy() -> None:
    code = f"import sys, dampkit; print(*[m for m in {HEAVY!r} if m in sys.modules])"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.split() == []


def test_the_function_curves_stays_itself_when_its_room_is_imported() -> None:
    code = (
        "import dampkit, dampkit.curves.trace, dampkit.analyse; from dampkit.curves.loop import Loop; "
        "assert callable(dampkit.curves) and callable(dampkit.analyse); print(dampkit.curves.__name__)"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.split() == ["curves"]


@pytest.mark.parametrize("name", ERRORS)
def test_an_error_comes_whole_from_another_process(name: str) -> None:
    error = getattr(dampkit, name)("run.csv:3", "found 'x'", "a number", "correct it")
    again = pickle.loads(pickle.dumps(error))
    assert type(again) is type(error)
    assert again.lines() == error.lines()
    assert again.exit_status == error.exit_status
