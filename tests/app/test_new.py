"""`dampkit new` and `dampkit schema`: files to fill in, never over another, by questions where they are asked for."""

from __future__ import annotations

import io
import json
import tomllib
from pathlib import Path

import pytest

from dampkit.app.main import run_command
from dampkit.bench.toml_file import load_toml
from dampkit.damper.declared import DamperSpec
from dampkit.needs.declared import VehicleSpec


def answers(monkeypatch: pytest.MonkeyPatch, *lines: str) -> None:
    monkeypatch.setattr("sys.stdin", io.StringIO("".join(f"{line}\n" for line in lines)))


def test_it_prints_a_file_and_says_what_has_to_be_filled_in(capsys: pytest.CaptureFixture[str]) -> None:
    assert run_command(["new", "vehicle", "--kind", "coil"]) == 0
    out, err = capsys.readouterr()
    assert tomllib.loads(out)["spring"] == {"kind": "coil"}
    assert "to be filled in: [corner] sprung_mass_kg" in err
    assert "wheel_rate_n_mm" not in err


def test_it_saves_and_never_writes_over_a_file(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    place = tmp_path / "damper.toml"
    assert run_command(["new", "damper", "--kind", "monotube", "--save", str(place)]) == 0
    assert load_toml(place, DamperSpec).damper.kind == "monotube"
    place.write_text("mine")
    assert run_command(["new", "damper", "--save", str(place)]) == 2
    assert "exists and is kept" in capsys.readouterr().err
    assert place.read_text() == "mine"


@pytest.mark.parametrize(
    ("given", "said"),
    [
        (["new", "dampers"], "one of bench, damper, vehicle, inspection, costs, stock"),
        (["new", "damper", "--kind", "coil"], "one of twin-tube, monotube"),
        (["new", "costs", "--kind", "coil"], "comes in one kind only"),
        (["new", "damper", "--save", "/nowhere/at/all.toml"], "there is no directory"),
        (["schema", "dampers"], "one of result, "),
    ],
)
def test_wrong_usage_says_what_there_is(given: list[str], said: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert run_command(given) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert said in err
    assert len(err.splitlines()) <= 3


def test_questions_make_a_vehicle_file(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """What cannot be is refused; what is seldom is asked about once; sections may be left out."""
    answers(
        monkeypatch,
        "", "heavy", "380000", "380",  # needed; a number; too much; right
        "42", "30", "200",
        "1.25", "n", "0,8",  # over 1: asked about, typed again, with a decimal comma
        "y", "Heron Tourer, front",  # [vehicle]
        "n",  # [target]
        *["n"] * 10,
    )  # fmt: skip
    place = tmp_path / "vehicle.toml"
    assert run_command(["new", "vehicle", "--ask", "--save", str(place)]) == 0
    said = capsys.readouterr().err
    for wanted in ("This is needed: such as 340.0", "Of one wheel, in kilograms? Written in g?", "0.8 or 1.25?"):
        assert wanted in said or "less than or equal to 100000" in said
    spec = load_toml(place, VehicleSpec)
    assert spec.vehicle.name == "Heron Tourer, front"
    assert spec.corner.model_dump() == {"sprung_mass_kg": 380.0, "unsprung_mass_kg": 42.0, "wheel_rate_n_mm": 30.0,
                                        "tyre_rate_n_mm": 200.0, "damper_motion_ratio": 0.8}  # fmt: skip


def test_questions_make_a_damper_file_by_its_kind(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    answers(
        monkeypatch,
        "monotube",
        "y", "A-7", "46", "50", "11", *[""] * 7,  # [damper]; a rod wider than the bore is refused
        "y", "0.05 0.1, 0.3", "124 421 1260", "157 297 335", "", "", "", "", "",  # [reference]
        "y", "20", "", "", "",  # [gas]
    )  # fmt: skip
    assert run_command(["new", "damper", "--ask"]) == 0
    out, err = capsys.readouterr()
    assert "expected a rod thinner than the piston" in err
    data = tomllib.loads(out)
    assert data["damper"] == {"serial": "A-7", "kind": "monotube", "piston_diameter_mm": 46.0, "rod_diameter_mm": 11.0}
    assert data["reference"]["velocity_m_s"] == [0.05, 0.1, 0.3]
    assert data["gas"] == {"pressure_bar": 20.0}
    assert "oil" not in data


def test_input_that_ends_writes_nothing(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    answers(monkeypatch, "380")
    place = tmp_path / "vehicle.toml"
    assert run_command(["new", "vehicle", "--ask", "--save", str(place)]) != 0
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("name", ["result", "bench", "stock"])
def test_schema_prints_the_published_one(name: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert run_command(["schema", name]) == 0
    assert json.loads(capsys.readouterr().out)["$id"] == f"urn:dampkit:schema:{name}:1"


def test_schema_without_a_name_is_the_results(capsys: pytest.CaptureFixture[str]) -> None:
    assert run_command(["schema"]) == 0
    assert json.loads(capsys.readouterr().out)["$id"] == "urn:dampkit:schema:result:1"
