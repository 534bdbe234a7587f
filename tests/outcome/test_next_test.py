"""What to test next: a thin test leaves the verdict open, says the cheapest test that decides it, and that test decides.

The units, their faults and the bench are made up; what each must come to is what was put into the plant.
"""

from __future__ import annotations

import csv
import json
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from dampkit.app.main import run_command
from dampkit.damper.take_up import same_speed
from dampkit.outcome.result import Result
from dampkit.virtual.dialects import PLAIN, bench_toml, write_csv
from dampkit.virtual.faulted import BY_CODE
from dampkit.virtual.plant import Plant
from dampkit.virtual.programme import Drive, Programme
from dampkit.virtual.rig import Rig, run_bench
from dampkit.virtual.truth import bench_reading
from dampkit.virtual.units import random_unit
from tests.test_sample_runs import analysed

SPEEDS_M_S = (0.05, 0.1, 0.2, 0.3, 0.5)
THIN_M_S = (0.3, 0.5)
SEVERITY = 3


class Bench:
    """A folder with one unit's files, on a made-up bench."""

    def __init__(self, folder: Path, fault: str | None) -> None:
        self.folder = folder
        sound = random_unit(np.random.default_rng([1, 3]), "lever-arm")
        self.unit = sound if fault is None else BY_CODE[fault].change(sound, SEVERITY)
        (folder / "bench.toml").write_text(bench_toml(PLAIN), encoding="utf-8")
        (folder / "damper.toml").write_text(damper_file(sound), encoding="utf-8")

    def run(self, name: str, drives: Sequence[Drive], seed: int) -> str:
        (log,) = run_bench([self.unit], Programme(tuple(drives)), Rig(), np.random.default_rng(seed))
        (self.folder / name).write_bytes(write_csv(log, PLAIN))
        return name

    def analysed(self, *logs: str, next_test: str | None = None) -> Result:
        files = [str(self.folder / name) for name in logs]
        declared = ["--bench", str(self.folder / "bench.toml"), "--damper", str(self.folder / "damper.toml")]
        more = [] if next_test is None else ["--next-test", str(self.folder / next_test)]
        assert run_command(["analyse", *files, *declared, "--json", str(self.folder / "out.json"), *more]) == 0
        return Result.model_validate(json.loads((self.folder / "out.json").read_text()))


def damper_file(sound: Plant) -> str:
    def forces(way: Any) -> list[float]:
        return [float(f) for f in bench_reading(sound, way, np.array(SPEEDS_M_S), sound.start_c).round(1)]

    return (
        f'[damper]\nkind = "lever-arm"\npiston_diameter_mm = {1e3 * sound.piston_diameter_m}\n'
        f"[reference]\nvelocity_m_s = {list(SPEEDS_M_S)}\nrebound_force_n = {forces('rebound')}\n"
        f"compression_force_n = {forces('compression')}\ntemperature_c = {sound.start_c}\n"
    )


def as_the_file_says(rows: list[dict[str, str]]) -> list[Drive]:
    """What the person at the bench sets: stroke, frequency and cycles of each row that is a run, and nothing beyond."""
    return [
        Drive(1e-3 * float(r["stroke_mm"]), float(r["frequency_hz"]), float(r["cycles"]))
        for r in rows
        if r["do"] == "run" and r["only_if_bench_is_made_for_it"] == "no"
    ]


@pytest.mark.parametrize(
    ("fault", "action"),
    [
        (None, "fit"),
        ("weak_blowoff", "rebuild"),
        pytest.param("internal_leak", "rebuild", marks=pytest.mark.slow),
        pytest.param("high_friction", "rebuild", marks=pytest.mark.slow),
    ],
)
def test_a_thin_test_then_the_next_one_decides(fault: str | None, action: str, tmp_path: Path) -> None:
    bench = Bench(tmp_path, fault)
    thin = bench.run("A.csv", [Drive.at_speed(v, 3) for v in THIN_M_S], 1)
    first = bench.analysed(thin, next_test="next.csv")
    assert first.verdict.action == "retest"
    assert first.next_test is not None
    assert first.next_test.joined
    with (tmp_path / "next.csv").open(newline="", encoding="utf-8") as file:
        rows = list(csv.DictReader(file))
    assert any(row["verdict_waits_for_it"] == "yes" for row in rows)
    both = bench.analysed(thin, bench.run("B.csv", as_the_file_says(rows), 2))
    assert both.verdict.action == action
    assert [f.code for f in both.faults if f.level == "found"] == ([] if fault is None else [fault])


def test_the_programme_stays_within_what_the_bench_did(tmp_path: Path) -> None:
    """A reference that names faster speeds than were run: those are marked, and no stroke is longer than before."""
    bench = Bench(tmp_path, None)
    first = bench.analysed(bench.run("A.csv", [Drive.at_speed(v, 3, 0.04) for v in (0.1, 0.2)], 1))
    made = first.next_test
    assert made is not None
    assert made.top_velocity_m_s == pytest.approx(0.2, rel=0.01)
    runs = [step for step in made.steps if step.do == "run"]
    for step in runs:
        assert step.stroke_m == pytest.approx(0.04, rel=0.01)
        assert step.velocity_m_s is not None
        assert step.beyond == (step.velocity_m_s > 0.2 * 1.03)
        assert step.frequency_hz == pytest.approx(step.velocity_m_s / (np.pi * 0.04), rel=0.02)
    speeds = [step.velocity_m_s for step in runs if not step.beyond]
    assert any(v is not None and v <= 0.005 for v in speeds)
    assert any(same_speed(v or 1.0, 0.05) for v in speeds)


def test_a_list_to_follow_and_a_row_a_step_say_the_same(tmp_path: Path) -> None:
    bench = Bench(tmp_path, None)
    thin = bench.run("A.csv", [Drive.at_speed(v, 3) for v in THIN_M_S], 1)
    made = bench.analysed(thin, next_test="next.txt").next_test
    bench.analysed(thin, next_test="next.csv")
    assert made is not None
    text = (tmp_path / "next.txt").read_text()
    with (tmp_path / "next.csv").open(newline="", encoding="utf-8") as file:
        rows = list(csv.DictReader(file))
    assert len(rows) == len(made.steps)
    for number, row in enumerate(rows, start=1):
        assert f"{number:2d}. [ ] {row['text']}" in text
    assert "No fault found" not in text
    for said in ("Take care:", "Keep as it was:", "dampkit analyse A.csv NEW.csv"):
        assert said in text


def test_another_ending_is_refused_before_anything_is_read(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run_command(["analyse", str(tmp_path / "none.csv"), "--next-test", str(tmp_path / "next.docx")]) == 2
    assert "'.docx'" in capsys.readouterr().err


@pytest.mark.parametrize("name", ["low_oil", "weak_blowoff"])
def test_a_unit_that_is_opened_is_asked_for_no_test_before(name: str) -> None:
    """A rebuild is tested again as a whole afterwards."""
    assert analysed(name).next_test is None


def test_the_verdict_of_a_sound_unit_waits_for_nothing() -> None:
    """Fade was not looked for in its test, and the page says how that is done; nothing that changes the unit."""
    made = analysed("sound_twin_tube").next_test
    assert made is not None
    assert made.joined
    assert {(step.tells, step.decides) for step in made.steps} == {(("repeat_first",), False)}
    warm, again = made.steps
    assert (warm.velocity_m_s or 0.0) > (again.velocity_m_s or 0.0)


def test_a_bent_rod_is_turned_in_records_of_their_own() -> None:
    made = analysed("bent_rod").next_test
    assert made is not None
    assert [step.turned_degrees for step in made.steps if step.turned_degrees is not None] == [90.0, 180.0]
    assert [step.do for step in made.steps] == ["run", "run"]
    assert not made.joined
    assert "tight_place_turned" in made.then


def test_what_changes_the_unit_is_a_test_of_its_own() -> None:
    """Trapped air goes by priming and rest: the whole test again, not joined with what was measured before."""
    made = analysed("trapped_air").next_test
    assert made is not None
    assert not made.joined
    do = [step.do for step in made.steps]
    assert do.index("prime") < do.index("rest") < do.index("run")
    assert made.steps[do.index("rest")].rest_s == 600.0
    assert made.posture == "upright"
    ran = [s.peak_velocity_m_s for s in analysed("trapped_air").run.stages]
    asked = [s.velocity_m_s for s in made.steps if s.velocity_m_s is not None]
    assert min(asked) <= 0.005
    assert max(asked) == pytest.approx(max(ran), rel=0.01)
