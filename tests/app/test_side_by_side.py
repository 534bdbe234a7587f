"""The commands that hold runs side by side, as a person uses them."""

from __future__ import annotations

import json
import tomllib
from hashlib import sha256
from pathlib import Path
from typing import Any

import jsonschema
import numpy as np
import pytest

from dampkit.app.main import run_command
from dampkit.outcome.published import schema_of
from dampkit.sources import SOURCES
from tests.bench.writer import Habit, made_run, write_log

SHIPPED = Path(__file__).parents[2] / "sample_runs"
BENCH = '[signs]\nforce_positive = "tension"\ndisplacement_positive = "extension"\n[zero]\nforce_n = 0.0\n'
DAMPER = """[damper]
serial = "A-1"
kind = "twin-tube"
piston_diameter_mm = 36.0
rod_diameter_mm = 12.0
[reference]
velocity_m_s = [0.1, 0.3]
rebound_force_n = [{}, {}]
compression_force_n = [115.0, 295.0]
"""
COSTS = """currency = "crowns"  # invented
[labour]
rate_per_hour = 50.0
[adjust]
hours = 0.5
[new]
price = 200.0
"""


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    place = tmp_path_factory.mktemp("pair")
    for name, stages in (("click0", ((0.05, 2), (1.0, 5), (3.0, 6))), ("click8", ((0.05, 2), (1.0, 4), (3.0, 5)))):
        write_log(place / f"{name}.csv", Habit(), made_run(stages))
    (place / "bench.toml").write_text(BENCH)
    (place / "damper.toml").write_text(DAMPER.format(265.0, 745.0))
    (place / "other.toml").write_text(DAMPER.format(330.0, 900.0))
    (place / "costs.toml").write_text(COSTS)
    (place / "sheet.toml").write_text('[inspection]\nrod_straight = true\neyes = "sound"\n')
    return place


def run(*words: object) -> int:
    return run_command([str(word) for word in words])


def test_a_pair_of_the_same_unit_matches(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run("compare", folder / "click0.csv", folder / "click8.csv", "--bench", folder / "bench.toml") == 0
    said = capsys.readouterr().out
    assert "rebound at 0.3 m/s" in said
    assert "pair: matched" in said


def test_the_same_log_twice_is_no_pair(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run("compare", folder / "click0.csv", folder / "click0.csv") == 2
    assert "the same log as" in capsys.readouterr().err


def test_one_log_is_no_pair(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run("compare", folder / "click0.csv") == 2
    assert "at least 2 logs" in capsys.readouterr().err


def test_a_reference_is_made_and_can_be_used(folder: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    made = tmp_path / "made.toml"
    words = ["--bench", folder / "bench.toml", "--damper", folder / "damper.toml"]
    assert run("reference", folder / "click0.csv", folder / "click8.csv", *words, "--save", made) == 0
    assert "36.519 times their standard deviation" in capsys.readouterr().out  # ISO 16269-6, two units, from memory
    assert run("analyse", folder / "click0.csv", "--bench", folder / "bench.toml", "--damper", made) == 0


def test_a_reference_does_not_overwrite_what_it_reads(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    words = ["--damper", folder / "damper.toml", "--save", folder / "damper.toml"]
    assert run("reference", folder / "click0.csv", folder / "click8.csv", *words) == 2
    assert "read by the same command" in capsys.readouterr().err


def test_a_sweep_reads_settings_from_names(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    words = ["--bench", folder / "bench.toml", "--damper", folder / "damper.toml"]
    assert run("settings", folder / "click0.csv", folder / "click8.csv", *words) == 0
    said = capsys.readouterr().out
    assert "\n  0: " in said
    assert "\n  8: " in said
    assert "choose " in said


@pytest.mark.parametrize(
    ("given", "words"), [("0", "one for each run"), ("a,b", "numbers with commas"), ("3,3", "two settings")]
)
def test_wrong_settings_are_refused(folder: Path, given: str, words: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert run("settings", folder / "click0.csv", folder / "click8.csv", "--at", given) == 2
    assert words in capsys.readouterr().err


def test_what_to_change_and_what_it_costs_are_in_result_and_page(folder: Path, tmp_path: Path) -> None:
    """A made-up monotube whose rebound spring is tired to 58 % of its preload: the way back is 1 / 0.58."""
    out, page = tmp_path / "out.json", tmp_path / "out.html"
    words = [x for kind in ("bench", "damper", "vehicle") for x in (f"--{kind}", SHIPPED / f"weak_blowoff.{kind}.toml")]
    words += ["--costs", folder / "costs.toml", "--inspection", folder / "sheet.toml", "--json", out, "--report", page]
    assert run("analyse", SHIPPED / "weak_blowoff.csv", *words) == 0
    result = json.loads(out.read_text())
    assert result["advice"] is None  # a faulty unit is put back, not tuned
    (part,) = result["restore"]
    assert (part["direction"], part["part"]) == ("rebound", "blow-off")
    assert part["good"] / part["now"] == pytest.approx(1 / 0.58, rel=0.08)
    assert {r["name"] for r in result["requirements"]} >= {"friction", "forces of the known-good unit"}
    assert "pitting of the rod" in result["inspection"]["not_established"]
    text = page.read_text(encoding="utf-8")
    assert "Good rebound blow-off" in text
    assert "pitting of the rod" in text
    assert "no table for rebuilding" in text


@pytest.mark.parametrize("option", ["--inspection", "--costs", "--stock"])
def test_a_wrong_file_is_named_with_its_line(
    folder: Path, tmp_path: Path, option: str, capsys: pytest.CaptureFixture[str]
) -> None:
    wrong = tmp_path / "wrong.toml"
    wrong.write_text("[labour]\nrate_per_hour = 50.0\n[surprise]\nkey = 1\n" if option == "--costs" else "[surprise]\n")
    assert run("analyse", folder / "click0.csv", "--bench", folder / "bench.toml", option, wrong) == 2
    assert "surprise" in capsys.readouterr().err


def as_json(name: str, capsys: pytest.CaptureFixture[str], *words: object) -> dict[str, Any]:
    """What a command writes to standard output, alone there and as its published schema says."""
    capsys.readouterr()
    assert run(name, *words, "--json", "-") == 0
    plain: dict[str, Any] = json.loads(capsys.readouterr().out)
    jsonschema.Draft202012Validator(schema_of(name)).validate(plain)
    assert plain["format"] == f"dampkit-{name}/1"
    assert set(plain["sources"]) <= set(SOURCES)
    return plain


def test_a_pair_as_json(folder: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    logs, files = [folder / "click0.csv", folder / "click8.csv"], ["--bench", folder / "bench.toml"]
    page = tmp_path / "pair.html"
    plain = as_json("compare", capsys, *logs, *files, "--report", page)
    assert page.is_file()
    (group,) = plain["groups"]
    assert group["answer"] == "in"
    assert [unit["sha256"] for unit in plain["units"]] == [sha256(log.read_bytes()).hexdigest() for log in logs]
    for d in group["differences"]:
        assert d["gap_n"]["low"] <= d["gap_n"]["value"] <= d["gap_n"]["high"]
        assert d["gap_n"]["value"] == pytest.approx(d["first_n"] - d["second_n"], abs=1e-6)
        mean = (d["first_n"] + d["second_n"]) / 2
        assert d["allowed_n"] == pytest.approx(max(plain["allowed_percent"] / 100 * mean, 25.0), rel=1e-6)
    out = tmp_path / "pair.json"
    assert run("compare", *logs, *files, "--json", out) == 0
    assert json.loads(out.read_text()) == plain
    assert f"written: {out}" in capsys.readouterr().out


def test_settings_as_json(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    logs = [folder / "click8.csv", folder / "click0.csv"]
    words = [*logs, "--bench", folder / "bench.toml", "--damper", folder / "damper.toml", "--step", "4"]
    plain = as_json("settings", capsys, *words)
    assert [(c["setting"], c["direction"]) for c in plain["curves"]] == [
        (setting, way) for setting in (0.0, 8.0) for way in ("rebound", "compression")
    ]
    assert {option["setting"] for option in plain["options"]} == {0.0, 4.0, 8.0}
    assert {option["setting"] for option in plain["options"] if option["logged"]} == {0.0, 8.0}
    assert plain["damping_ratio"] is None  # no car
    none_wanted = as_json("settings", capsys, *logs, "--bench", folder / "bench.toml")
    assert none_wanted["options"] == []


def test_a_reference_as_json_is_the_one_that_is_saved(
    folder: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    logs, saved = [folder / "click0.csv", folder / "click8.csv"], tmp_path / "good.toml"
    plain = as_json("reference", capsys, *logs, "--bench", folder / "bench.toml", "--save", saved)
    said = tomllib.loads(saved.read_text(encoding="utf-8"))["reference"]
    for band in plain["bands"]:
        assert band["velocity_m_s"] == said["velocity_m_s"]
        np.testing.assert_allclose(band["force_n"], said[f"{band['direction']}_force_n"], atol=0.051)
        np.testing.assert_allclose(band["tolerance_n"], plain["factor"] * np.array(band["deviation_n"]), rtol=1e-3)
    assert plain["units"] == 2
    assert plain["factor"] == pytest.approx(36.519, rel=1e-3)  # ISO 16269-6: n = 2, 95 % with 95 %


def test_what_a_car_needs_as_json(capsys: pytest.CaptureFixture[str]) -> None:
    plain = as_json("need", capsys, SHIPPED / "low_oil.vehicle.toml")
    assert plain["vehicle"]["ratios"] == []


def test_json_does_not_overwrite_what_is_read(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    log = folder / "click0.csv"
    before = log.read_bytes()
    for name in ("compare", "settings", "reference"):
        assert run(name, log, folder / "click8.csv", "--json", log) == 2
        assert "read by the same command" in capsys.readouterr().err
    assert log.read_bytes() == before


def test_a_person_gets_columns_and_a_pipe_whole_lines(
    folder: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    logs = [folder / "click0.csv", folder / "click8.csv", "--bench", folder / "bench.toml"]
    for name in ("compare", "reference"):
        assert run(name, *logs) == 0
        lines = [line for line in capsys.readouterr().out.splitlines() if line.startswith("  rebound at ")]
        monkeypatch.setattr(f"dampkit.app.{name}.on_terminal", lambda: True)
        assert run(name, *logs) == 0
        _, *rows = (line for line in capsys.readouterr().out.splitlines() if line.startswith(("  direction", "  rebo")))
        assert len(rows) == len(lines) >= 2
        assert len({len(row[: row.index(" 0.")]) for row in rows}) == 1  # speeds begin in one column
