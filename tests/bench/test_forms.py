"""Which form a record is told to be, what is asked where it does not tell, and how its parts go together."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest

import dampkit
from dampkit.app.main import run_command
from dampkit.bench.declared import BenchSpec
from dampkit.bench.test import read_test
from dampkit.curves.trace import trace
from dampkit.errors import BadSettings, UnreadableLog
from tests.bench.writer import Habit, made_run, write_log

SHORT = made_run(((2.0, 4),))
T = np.arange(400) / 400
X, F = 25 * np.sin(2 * np.pi * T), 300 * np.cos(2 * np.pi * T)


def table(path: Path, heads: str, *columns: object, above: str = "") -> Path:
    rows = "\n".join(",".join(f"{float(c):.5f}" for c in row) for row in zip(*columns, strict=True))
    path.write_text(f"{above}{heads}\n{rows}\n")
    return path


def spec(**sections: object) -> BenchSpec:
    return BenchSpec.model_validate(sections)


def test_a_record_of_no_form_is_told_why_by_each(tmp_path: Path) -> None:
    log = table(tmp_path / "log.csv", "displacement mm,force N", X, F)
    with pytest.raises(
        UnreadableLog, match=r"no time-series: .*sample rate.*; no loops: .*how often.*; no table: .*; no hand"
    ):
        read_test([log])


def test_a_declared_form_is_not_guessed(tmp_path: Path) -> None:
    log = table(tmp_path / "log.csv", "displacement mm,force N", X, F)
    said = spec(log={"form": "loops"}, timing={"frequency_hz": 2.0})
    assert read_test([log], said).runs[0].form == "loops"
    with pytest.raises(UnreadableLog, match="nothing gives the sample rate"):
        read_test([log], spec(log={"form": "time-series"}))


@pytest.mark.parametrize(
    ("above", "heads", "timing"),
    [
        ("", "displacement mm,force N", {"frequency_hz": 1.5}),
        ("", "displacement mm,force N", {"crank_rpm": 90.0}),
        ("crank speed: 90 rpm\n", "displacement mm,force N", {}),
        ("Drehzahl 90 U/min\n", "Weg [mm],Kraft [N]", {}),
        ("crank rpm: 90\n", "displacement mm,force N", {}),
        ("Crank [rpm],90,\n", "displacement mm,force N", {}),
        ("frequency (Hz) = 1.5\n", "displacement mm,force N", {}),
        ("", "displacement mm,force N (1.5 Hz)", {}),
        (f"peak speed {1.5 * np.pi * 0.05:.6f} m/s\n", "displacement mm,force N", {}),
    ],
)
def test_how_often_a_loop_is_gone_round(above: str, heads: str, timing: dict[str, float], tmp_path: Path) -> None:
    """Closed form: x = A sin(2 pi f t) has the peak speed 2 pi f A, here 25 mm and 1.5 Hz."""
    run = read_test([table(tmp_path / "loop.csv", heads, X, F, above=above)], spec(timing=timing)).run
    loop = trace(run).loops[0]
    assert loop.peak_velocity_m_s == pytest.approx(2 * np.pi * 1.5 * 0.025, rel=2e-4)
    assert loop.stage.cycles == 1
    assert float(loop.energy_j[0]) == pytest.approx(np.pi * 0.025 * 300, rel=1e-3)


def test_two_speeds_above_a_loop_are_not_chosen_from(tmp_path: Path) -> None:
    log = table(tmp_path / "loop.csv", "displacement mm,force N", X, F, above="90 rpm\n1.7 Hz\n")
    with pytest.raises(UnreadableLog, match="how often a second"):
        read_test([log])


def test_rows_along_the_stroke_ask_for_the_drive(tmp_path: Path) -> None:
    """At even steps of place a crank and a drive of constant speed look alike; their speeds differ by pi / 2."""
    out = np.linspace(-25, 25, 200, endpoint=False)
    x = np.concatenate([out, -out])
    f = 300 * np.sqrt(np.clip(1 - (x / 25) ** 2, 0, None)) * np.repeat([1.0, -1.0], 200)
    log = table(tmp_path / "loop.csv", "displacement mm,force N", x, f)
    with pytest.raises(UnreadableLog, match="even steps of displacement"):
        read_test([log], spec(timing={"frequency_hz": 1.5}))
    speeds = []
    for drive in ("sine", "constant-speed"):
        said = spec(timing={"frequency_hz": 1.5}, motion={"drive": drive})
        speeds.append(trace(read_test([log], said).run).loops[0].peak_velocity_m_s)
    assert speeds == pytest.approx([np.pi * 1.5 * 0.05, 2 * 1.5 * 0.05], rel=0.02)


def test_an_angle_asks_for_its_stroke(tmp_path: Path) -> None:
    log = table(tmp_path / "loop.csv", "crank angle deg,force N", 360 * T, 300 * np.sin(2 * np.pi * T))
    with pytest.raises(UnreadableLog, match="without a stroke"):
        read_test([log], spec(timing={"crank_rpm": 90.0}))
    run = read_test([log], spec(timing={"crank_rpm": 90.0}, motion={"stroke_mm": 50.0})).run
    assert np.ptp(run.displacement_m) == pytest.approx(0.05, rel=1e-4)


@pytest.mark.parametrize("above", ["stroke 50 mm\n", "Stroke [mm]: 50\n", "Hub (cm),5.0,\n"])
def test_a_stroke_above_the_table_is_read_with_its_unit_before_or_behind(above: str, tmp_path: Path) -> None:
    log = table(tmp_path / "loop.csv", "crank angle deg,force N", 360 * T, 300 * np.sin(2 * np.pi * T), above=above)
    run = read_test([log], spec(timing={"crank_rpm": 90.0})).run
    assert np.ptp(run.displacement_m) == pytest.approx(0.05, rel=1e-4)


def test_the_same_record_twice_is_no_second_stage(tmp_path: Path) -> None:
    log = write_log(tmp_path / "run.csv", Habit(), SHORT)
    with pytest.raises(BadSettings, match="twice"):
        read_test([log, log])


@pytest.mark.parametrize(("damping_n", "first_n", "said"), [(5.0, -5.0, False), (60.0, 60.0, True)])
def test_records_of_one_test_have_one_way_of_counting(
    damping_n: float, first_n: float, said: bool, tmp_path: Path
) -> None:
    """What is nearly a spring shows no sign of its own and gets that of the clearest record; one that shows the other
    sign clearly contradicts it, which is said."""
    t = np.arange(2000) / 500
    x, v = 25 * np.sin(2 * np.pi * t), np.cos(2 * np.pi * t)
    clear = table(tmp_path / "a.csv", "time s,displacement mm,force N", t, x, -300 * v)
    other = table(tmp_path / "b.csv", "time s,displacement mm,force N", t, x, 12 * x + damping_n * v)
    test = read_test([clear, other])
    assert not test.run.direction_known
    assert test.runs[1].force_n[0] == pytest.approx(first_n, rel=0.01)
    assert ("gives_work" in {q.code for q in test.run.quality}) == said


def test_json_out_lists_every_file(tmp_path: Path) -> None:
    logs = [write_log(tmp_path / f"{n}.csv", Habit(preamble=n), SHORT) for n in (1, 2)]
    out = tmp_path / "out.json"
    assert run_command(["analyse", *map(str, logs), "--json", str(out)]) == 0
    assert [f["file"] for f in json.loads(out.read_text())["run"]["files"]] == ["1.csv", "2.csv"]


def test_look_answers_first_and_offers_the_next_command(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    log = write_log(tmp_path / "run.csv", Habit(), SHORT)
    assert run_command(["look", str(log)]) == 0
    lines = capsys.readouterr().out.splitlines()
    assert lines[0].startswith("one question: which way is out?")
    assert lines[-1].startswith("next: dampkit analyse ")
    bench = tmp_path / "bench.toml"
    bench.write_text('[signs]\nforce_positive = "tension"\ndisplacement_positive = "extension"\n')
    assert run_command(["look", str(log), "--bench", str(bench)]) == 0
    assert capsys.readouterr().out.splitlines()[0] == "ready: 1 stage"


def test_a_part_without_a_stage_is_told_and_passed_over(tmp_path: Path) -> None:
    log = write_log(tmp_path / "run.csv", Habit(), SHORT)
    still = table(tmp_path / "still.csv", "time s,displacement mm,force N", T, 0 * T + 0.001 * (T > 0.5), F)
    result = dampkit.analyse(dampkit.read_test([log, still]))
    assert "part_not_used" in {q.code for q in result.quality}
    assert {r.use for r in result.run.rows if r.file == "still.csv"} == {"not used"}


def test_a_file_s_name_says_what_the_record_does_not(tmp_path: Path) -> None:
    """The pattern is the person's; 0x5 is 0.5 where a point cannot stand in a name."""
    said = spec(files={"name": "{unit}_{stroke_mm}mm{frequency_hz}Hz_{temperature_c}C.csv"})
    logs = [
        table(tmp_path / f"A1_50mm{name}Hz_31C.csv", "displacement mm,force N", X, F * scale)
        for name, scale in (("0x5", 1.0), ("2", 1.5))
    ]
    loops = trace(read_test(logs, said).run).loops
    assert [loop.stage.frequency_hz for loop in loops] == [0.5, 2.0]
    assert [loop.stage.temperature_c for loop in loops] == [31.0, 31.0]
    with pytest.raises(BadSettings, match="does not fit"):
        read_test([table(tmp_path / "other.csv", "displacement mm,force N", X, F)], said)


def test_a_small_table_says_it_file_by_file(tmp_path: Path) -> None:
    logs = [table(tmp_path / f"{n}.csv", "displacement mm,force N", X, F * n) for n in (1, 2)]
    told = {"1.csv": {"crank_rpm": 30.0, "setting": "4 clicks"}, "2.csv": {"frequency_hz": 2.0, "pressure_bar": 12.0}}
    test = read_test(logs, spec(files={"told": told}))
    assert [run.closed_hz for run in test.runs] == [0.5, 2.0]
    assert ("setting", "4 clicks") in {pair for step in test.run.history for pair in step.settings}


@pytest.mark.parametrize("pattern", ["run.csv", "{speed}.csv", "{setting}{setting}.csv"])
def test_a_pattern_that_says_nothing_is_refused(pattern: str, tmp_path: Path) -> None:
    log = table(tmp_path / "run.csv", "displacement mm,force N", X, F)
    with pytest.raises(BadSettings, match="parts such as"):
        read_test([log], spec(files={"name": pattern}))
