"""A user's script under a strict type checker: nothing in it is of unknown type. Two checkers, one script."""

from __future__ import annotations

import re
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent
SCRIPT = """
from pathlib import Path

import numpy as np
import pandas as pd

import dampkit
from dampkit import DampkitError, Result, Run


def worked(run: Run, serial: str) -> Result:
    return dampkit.analyse(run, damper={"damper": {"serial": serial}}, vehicle=Path("car.toml"))


t = np.arange(0.0, 6.0, 0.002)
run = dampkit.read_run({"time_s": t, "displacement_mm": 25 * np.sin(t), "force_n": np.cos(t)}, bench={"zero": {"force_n": 0.0}})
framed = dampkit.read_run(pd.DataFrame({"time_s": t}), name="one")
with open("log.csv", "rb") as file:
    opened = dampkit.read_run(file, bench="bench.toml")
test = dampkit.read_test(["a.csv", Path("b.csv"), b"1,2"])
try:
    result = worked(run, "A-1042")
except DampkitError as error:
    reveal_type(error.lines())
    raise
curves = dampkit.curves(run)
unit = dampkit.fit(curves, damper="damper.toml")
found = dampkit.diagnose(test)
pair = dampkit.compare([run, "b.csv"], vehicle={"corner": {}})
swept = dampkit.settings(["0.csv", framed], at=[0, 8])
good = dampkit.reference([run, opened])
many = dampkit.batch([run, Path("a.csv"), test], processes=2)
car = dampkit.need("car.toml")
with dampkit.open_book("book.sqlite") as book:
    reveal_type(book.entry(1).serial)
    again = dampkit.load_result(book.result(1))
dampkit.write_report(result, Path("out.html"))
reveal_type(run.force_n)
reveal_type(test.points[0].rebound)
reveal_type(result.verdict.action)
reveal_type(result.valve.rebound.bleed_area_mm2)
reveal_type(result.frames())
reveal_type(result.figures())
reveal_type(result._repr_html_())
reveal_type(curves.loops[0].mean_force_n)
reveal_type(unit.rebound.law)
reveal_type(found.findings[0].likelihood)
reveal_type(pair.found[0][0].gap_n.value)
reveal_type(pair.frames())
reveal_type(swept.best)
reveal_type(good.to_toml())
reveal_type(good.mean_n["rebound"])
reveal_type(many.outcomes)
reveal_type(many.errors)
reveal_type(car.vehicle.need)
reveal_type(car.frames())
reveal_type(again.faults)
reveal_type(run.frames())
"""
UNKNOWN = r"\bAny\b|\bUnknown\b"
SHAPE = "tuple[Any, ...]"  # numpy's own word for an array of any shape
UNTYPED = "dict[str, Any]"  # of figures(): plotly tells mypy no types, pyright reads them from its code
REVEALED = SCRIPT.count("reveal_type(")


def unknown(revealed: list[str]) -> list[str]:
    return [kind for kind in revealed if re.search(UNKNOWN, kind.replace(SHAPE, ""))]


def check(*words: str, folder: Path) -> str:
    done = subprocess.run([sys.executable, "-m", *words], capture_output=True, text=True, check=False, cwd=folder)
    return done.stdout + done.stderr


@pytest.fixture
def script(tmp_path: Path) -> Path:
    place = tmp_path / "script.py"
    place.write_text(SCRIPT)
    return place


@pytest.mark.slow
def test_mypy_finds_nothing_of_unknown_type(script: Path) -> None:
    words = (
        "--strict",
        "--disallow-any-unimported",
        "--no-error-summary",
        "--config-file",
        str(ROOT / "pyproject.toml"),
    )
    said = check("mypy", *words, str(script), folder=ROOT)
    assert ": error:" not in said, said
    revealed = re.findall(r'Revealed type is "(.*)"', said)
    assert len(revealed) == REVEALED, said
    assert [kind.replace("builtins.", "") for kind in unknown(revealed)] == [UNTYPED]


@pytest.mark.slow
def test_pyright_finds_nothing_of_unknown_type(script: Path) -> None:
    pytest.importorskip("pyright", reason="the package pyright is not installed")
    settings = script.with_name("pyrightconfig.json")
    settings.write_text(f'{{"typeCheckingMode": "strict", "extraPaths": ["{ROOT}"], "reportPrivateUsage": false}}')
    said = check("pyright", "--project", str(settings), "--pythonpath", sys.executable, folder=script.parent)
    if "error: " not in said and "information: Type of" not in said:
        pytest.skip(f"pyright does not run here: {said.strip()[:200]}")
    assert "error: " not in said, said
    revealed = re.findall(r'information: Type of .* is "(.*)"', said)
    assert len(revealed) == REVEALED, said
    assert unknown(revealed) == []
