"""From Python and from the command line come the same numbers, to the last bit."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pandas as pd
import pytest

import dampkit
from dampkit.app.main import run_command

SAMPLES = Path(__file__).parents[2] / "sample_runs"
PAIR = ("sound_twin_tube", "internal_leak")  # one kind of unit for one car


def side(name: str, *kinds: str) -> tuple[list[str], dict[str, Any]]:
    """The declared files of a sample as options of a command and as arguments of a call."""
    files = {kind: SAMPLES / f"{name}.{kind}.toml" for kind in kinds}
    return [word for kind, path in files.items() for word in (f"--{kind}", str(path))], files


def caught(monkeypatch: pytest.MonkeyPatch, module: str, name: str) -> list[Any]:
    """What the command hands to the function that words it."""
    import importlib

    seen: list[Any] = []
    place = importlib.import_module(f"dampkit.app.{module}")
    words = getattr(place, name)

    def keep(found: Any) -> Any:
        seen.append(found)
        return words(found)

    monkeypatch.setattr(place, name, keep)
    return seen


def test_analyse(tmp_path: Path) -> None:
    words, files = side("low_oil", "bench", "damper", "vehicle")
    assert run_command(["analyse", str(SAMPLES / "low_oil.csv"), *words, "--json", str(tmp_path / "out.json")]) == 0
    run = dampkit.read_run(SAMPLES / "low_oil.csv", files["bench"])
    result = dampkit.analyse(run, damper=files["damper"], vehicle=files["vehicle"])
    assert result.to_dict() == json.loads((tmp_path / "out.json").read_text())
    assert dampkit.load_result(tmp_path / "out.json") == result


def test_a_frame_of_the_same_log_gives_the_same_but_for_its_name_and_hash() -> None:
    _, files = side("low_oil", "bench", "damper", "vehicle")
    log = SAMPLES / "low_oil.csv"
    runs = [
        dampkit.read_run(log, files["bench"]),
        dampkit.read_run(pd.read_csv(log), files["bench"], name="low_oil.csv"),
    ]
    of_file, of_frame = (
        dampkit.analyse(run, damper=files["damper"], vehicle=files["vehicle"]).to_dict() for run in runs
    )
    for found in (of_file, of_frame):
        for part in (found["run"], *found["run"]["files"]):
            del part["sha256"]
        del found["run"]["history"][0]  # how it was laid out
    assert of_frame == of_file


def test_compare(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    words, files = side(PAIR[0], "bench", "damper")
    logs = [SAMPLES / f"{name}.csv" for name in PAIR]
    seen = caught(monkeypatch, "compare", "_pair")
    assert run_command(["compare", *map(str, logs), *words, "--allow", "15"]) == 0
    found = dampkit.compare(logs, **files, allow_percent=15.0)
    assert found.found == seen[0].found
    assert found.answers == ("out",)
    assert found.advice_by([str(log) for log in logs]) in capsys.readouterr().out
    assert found.frames()["differences"]["gap_n"].tolist() == [d.gap_n.value for d in seen[0].found[0]]


def test_settings(monkeypatch: pytest.MonkeyPatch) -> None:
    words, files = side(PAIR[0], "bench", "damper")
    logs = [SAMPLES / f"{name}.csv" for name in PAIR]
    seen = caught(monkeypatch, "settings", "_map")
    assert run_command(["settings", *map(str, logs), *words, "--at", "0,8", "--step", "2"]) == 0
    found = dampkit.settings(logs, [0, 8], **files, step=2.0)
    for way, forces in found.sweep.force_n.items():
        assert (forces == seen[0].force_n[way]).all()
        assert (found.sweep.half_n[way] == seen[0].half_n[way]).all()
    assert [option.setting for option in found.options if option.logged] == [0.0, 8.0]
    assert sorted(found.frames()["options"]["setting"]) == [0.0, 2.0, 4.0, 6.0, 8.0]


def test_reference(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    words, files = side(PAIR[0], "bench", "damper")
    logs, saved = [SAMPLES / f"{name}.csv" for name in PAIR], tmp_path / "made.toml"
    seen = caught(monkeypatch, "reference", "_lines")
    assert run_command(["reference", *map(str, logs), *words, "--share", "0.9", "--save", str(saved)]) == 0
    found = dampkit.reference(logs, **files, share=0.9)
    for way, forces in found.mean_n.items():
        assert (forces == seen[0].mean_n[way]).all()
        assert (found.tolerance_n(way) == seen[0].tolerance_n(way)).all()
    assert found.to_toml(Path(files["damper"]).read_text(encoding="utf-8")) == saved.read_text(encoding="utf-8")
    assert dampkit.Job.load(damper=found.to_dict()) == dampkit.Job.load(damper=saved)


def test_need(tmp_path: Path) -> None:
    vehicle = SAMPLES / "low_oil.vehicle.toml"
    assert run_command(["need", str(vehicle), "--json", str(tmp_path / "need.json")]) == 0
    assert dampkit.need(vehicle).to_dict() == json.loads((tmp_path / "need.json").read_text())


def test_batch(tmp_path: Path) -> None:
    logs = [SAMPLES / "drawing_table.csv", SAMPLES / "broken_log.csv"]
    run_command(["batch", *map(str, logs), "--out", str(tmp_path), "--jobs", "1"])
    made = pd.read_parquet(tmp_path / "table.parquet").set_index("file")
    found = dampkit.batch(logs).frames()["table"].set_index("file")
    pd.testing.assert_frame_equal(
        found.loc[made.index].drop(columns="log_sha256").astype(object).where(found.notna(), None),
        made.drop(columns=["key", "log_sha256"]).astype(object).where(made.notna(), None),
        check_exact=True,
        check_dtype=False,
    )
