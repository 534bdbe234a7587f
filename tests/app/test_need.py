"""The commands that need no bench log: what a vehicle needs, and springs."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from dampkit.app.main import run_command
from dampkit.outcome.vehicle_record import NeedResult

VEHICLE = """[vehicle]
name = "Quarry Van <rear> (made up)"
[corner]
sprung_mass_kg = 380
unsprung_mass_kg = 42
tyre_rate_n_mm = 200
wheel_rate_n_mm = 30
damper_motion_ratio = 0.8
[target]
damping_ratio = 0.28
rebound_share = 0.7
"""


def run(*words: object) -> int:
    return run_command([str(word) for word in words])


@pytest.fixture
def vehicle(tmp_path: Path) -> Path:
    path = tmp_path / "vehicle.toml"
    path.write_text(VEHICLE)
    return path


def test_need_as_a_table(vehicle: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run("need", vehicle) == 0
    said = capsys.readouterr().out
    assert "6750 N s/m" in said  # 2 sqrt(30000 x 380) by hand
    assert "0.3 m/s" in said
    assert "No unit was tested" in said


def test_need_as_json_alone_on_standard_output(vehicle: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run("need", vehicle, "--json", "-") == 0
    found = NeedResult.model_validate(json.loads(capsys.readouterr().out))
    need = found.vehicle.need
    assert need is not None
    at = need.velocity_m_s.index(0.3)
    assert need.rebound_n[at] == pytest.approx(2 * 0.7 * 0.28 * 6753.0 / 0.64 * 0.3, rel=1e-3)  # by hand
    assert found.vehicle.ride is None


def test_need_as_a_page_without_any_bench_log(vehicle: Path, tmp_path: Path) -> None:
    page, out = tmp_path / "need.html", tmp_path / "need.json"
    assert run("need", vehicle, "--report", page, "--json", out) == 0
    text = page.read_text(encoding="utf-8")
    assert "Quarry Van &lt;rear&gt; (made up)" in text
    assert "<svg" in text
    assert "<script" not in text
    assert "Gas-charged units" in text
    assert json.loads(out.read_text())["format"] == "dampkit-need/1"


def test_no_target_still_gives_a_page_that_says_so(vehicle: Path, tmp_path: Path) -> None:
    vehicle.write_text(VEHICLE.split("[target]")[0])
    page = tmp_path / "need.html"
    assert run("need", vehicle, "--report", page) == 0
    assert "Not established: the vehicle file has no target" in page.read_text(encoding="utf-8")


def test_an_unusable_vehicle_is_2_in_three_lines(vehicle: Path, capsys: pytest.CaptureFixture[str]) -> None:
    vehicle.write_text(VEHICLE.replace("wheel_rate_n_mm = 30\n", ""))
    assert run("need", vehicle) == 2
    lines = capsys.readouterr().err.strip().splitlines()
    assert len(lines) <= 3
    assert "[corner] wheel_rate_n_mm and [spring] are both missing" in lines[0]


@pytest.mark.parametrize(
    ("words", "figure"),
    [
        ("coil --wire 12 --coil 100 --active 6 --load 3400", "34.3 N/mm"),
        ("leaf --span 1200 --width 60 --thickness 8 --full 2 --graduated 4 --load 3000", "68.7 N/mm"),
        ("torsion --diameter 25 --length 1200 --lever 350 --tube-outer 36 --tube-inner 28 --load 3000", "15.1 N/mm"),
    ],
)
def test_springs_from_their_sizes(words: str, figure: str, capsys: pytest.CaptureFixture[str]) -> None:
    """Rates by hand from [shigley] and [khurmi]; E 207 GPa for the leaf. The table it prints can be pasted."""
    assert run("spring", *words.split()) == 0
    said = capsys.readouterr().out
    assert figure in said
    assert "sanity figure" in said
    assert "[spring]" in said


def test_printed_spring_table_is_taken_by_a_vehicle_file(vehicle: Path, capsys: pytest.CaptureFixture[str]) -> None:
    run(
        "spring",
        *[
            "torsion",
            "--diameter",
            "25",
            "--length",
            "1200",
            "--lever",
            "350",
            "--tube-outer",
            "36",
            "--tube-inner",
            "28",
            "--load",
            "3000",
        ],
    )
    table = capsys.readouterr().out.split("mm:")[-1]
    vehicle.write_text(VEHICLE.replace("wheel_rate_n_mm = 30\n", "") + table)
    assert run("need", vehicle) == 0


def test_spring_log(vehicle: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    rows = [(x, 25 * x + way * 120) for way, xs in ((1, range(0, 201, 2)), (-1, range(200, -1, -2))) for x in xs]
    log = tmp_path / "spring.csv"
    log.write_text("\n".join(["Displacement [mm],Force [N]", *(f"{x},{load}" for x, load in rows)]))
    assert run("spring", "log", log, "--load", 3000, "--json") == 0
    facts = {fact["what"]: fact["value"] for fact in json.loads(capsys.readouterr().out)["facts"]}
    assert facts["Rate"] == pytest.approx(25.0)
    assert facts["Friction, half of the load loop"] == pytest.approx(120.0)
    assert run("spring", "log", log, "--load", 9000) == 4
    capsys.readouterr()
    assert run("spring", "log", log, "--load", 3000, "--motion-ratio", 0.9) == 0
    vehicle.write_text(VEHICLE.replace("wheel_rate_n_mm = 30\n", "") + capsys.readouterr().out.split("mm:")[-1])
    assert run("need", vehicle) == 0
    said = " ".join(capsys.readouterr().out.split())
    assert "Wheel rate 20.2 N/mm" in said  # 25 x 0.9 squared
    assert "Friction at the wheel 108 N" in said
    assert run("spring", "log", tmp_path / "none.csv", "--load", 3000) == 3


@pytest.mark.parametrize(
    ("words", "said"),
    [
        ("coil --wire -1 --coil 100 --active 6 --load 3400", "wire_diameter_mm"),
        ("coil --wire 12 --coil 10 --active 6 --load 3400", "coil_diameter_mm is not above"),
        ("coil --wire 12 --coil 100 --active 6 --load inf", "--load: found inf"),
        ("torsion --diameter 25 --length 1200 --lever 350 --load 3000 --tube-outer 20", "does not go inside the tube"),
        ("leaf --span 80 --width 50 --thickness 7 --clamp-length 90 --load 3400", "as long as the spring"),
        ("leaf --span 1100 --width 50 --thickness 7 --shackle -2 --camber 600 --load 3400", "pushes no harder"),
    ],
)
def test_an_impossible_spring_is_2(words: str, said: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert run("spring", *words.split()) == 2
    lines = capsys.readouterr().err.splitlines()
    assert said in lines[0]
    assert len(lines) == 3
