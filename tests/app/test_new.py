"""`dampkit new` and `dampkit schema`: files to fill in, never over another, by questions where they are asked for."""

from __future__ import annotations

import io
import json
import re
import tomllib
from pathlib import Path

import pytest

from dampkit.app.asking import Terminal
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


def answering(monkeypatch: pytest.MonkeyPatch, given: dict[str, list[str]]) -> None:
    """Answers by what is asked: a key, a section to answer, or whether to keep an odd value; empty for all else."""

    def answer(terminal: Terminal, question: str) -> str:
        section, key = re.search(r"\n\[([\w.]+)\]", question), re.match(r"(\w+) \[", question)
        asked = section[0].strip() if section else key[1] if key else "keep"
        left = given.get(asked, [])
        return left.pop(0) if left else ""

    monkeypatch.setattr(Terminal, "answer", answer)


def test_questions_make_a_vehicle_file(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """What cannot be is refused; what is seldom is asked about once; sections may be left out."""
    given = {
        "sprung_mass_kg": ["", "heavy", "380000", "380"],  # needed; a number; too much
        "unsprung_mass_kg": ["42"],
        "wheel_rate_n_mm": ["30"],
        "tyre_rate_n_mm": ["200"],
        "damper_motion_ratio": ["1.25", "0,8"],  # over 1: asked about, typed again, with a decimal comma
        "[vehicle]": ["y"],
        "name": ["Heron Tourer, front"],
    }
    answering(monkeypatch, given)
    place = tmp_path / "vehicle.toml"
    assert run_command(["new", "vehicle", "--ask", "--save", str(place)]) == 0
    said = capsys.readouterr().err
    assert "This is needed: such as 340.0" in said
    assert "valid number" in said
    assert "less than or equal to 100000" in said
    assert "Once more, then." in said
    assert not any(given.values())
    spec = load_toml(place, VehicleSpec)
    assert spec.vehicle.name == "Heron Tourer, front"
    assert spec.corner.model_dump() == {"sprung_mass_kg": 380.0, "unsprung_mass_kg": 42.0, "wheel_rate_n_mm": 30.0,
                                        "tyre_rate_n_mm": 200.0, "damper_motion_ratio": 0.8}  # fmt: skip


def test_questions_make_a_damper_file_by_its_kind(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    given = {
        "kind": ["monotube"],
        "[damper]": ["y"],
        "serial": ["A-7"],
        "piston_diameter_mm": ["46"],
        "rod_diameter_mm": ["50", "11"],  # a rod wider than the bore is refused
        "[reference]": ["y"],
        "velocity_m_s": ["0.05 0.1, 0.3"],
        "rebound_force_n": ["124 421 1260"],
        "compression_force_n": ["157 297 335"],
        "[gas]": ["y"],
        "pressure_bar": ["20"],
        "[oil]": ["n"],
        "[arm]": ["y"],  # of a lever-arm: not asked
    }
    answering(monkeypatch, given)
    assert run_command(["new", "damper", "--ask"]) == 0
    out, err = capsys.readouterr()
    assert "expected a rod thinner than the piston" in err
    data = tomllib.loads(out)
    assert data["damper"] == {"serial": "A-7", "kind": "monotube", "piston_diameter_mm": 46.0, "rod_diameter_mm": 11.0}
    assert data["reference"]["velocity_m_s"] == [0.05, 0.1, 0.3]
    assert data["gas"] == {"pressure_bar": 20.0}
    assert given["[arm]"] == ["y"]


def test_an_unusual_value_is_kept_where_it_is_meant(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    given = {"rate_per_hour": ["[50, 60, 80]"], "[rebuild]": ["y"], "hours": ["150"], "keep": ["y"]}
    answering(monkeypatch, given)
    assert run_command(["new", "costs", "--ask"]) == 0
    data = tomllib.loads(capsys.readouterr().out)
    assert data == {"labour": {"rate_per_hour": [50.0, 60.0, 80.0]}, "rebuild": {"hours": 150.0}}


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
