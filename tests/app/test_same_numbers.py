"""From Python and from the command line come the same numbers, to the last bit."""

from __future__ import annotations

import importlib
import json
from pathlib import Path
from typing import Any

import pandas as pd
import pytest

import dampkit
from dampkit.app.main import run_command
from dampkit.outcome.side_by_side_record import compare_record, reference_record, settings_record

SAMPLES = Path(__file__).parents[2] / "sample_runs"
PAIR = ("sound_twin_tube", "internal_leak")  # one kind of unit for one car


def side(name: str, *kinds: str) -> tuple[list[str], dict[str, Any]]:
    """The declared files of a sample as options of a command and as arguments of a call."""
    files = {kind: SAMPLES / f"{name}.{kind}.toml" for kind in kinds}
    return [word for kind, path in files.items() for word in (f"--{kind}", str(path))], files


def said(place: Path, *words: object) -> Any:
    """What a command writes as JSON."""
    assert run_command([*map(str, words), "--json", str(place)]) == 0
    return json.loads(place.read_text())


def handed_on(monkeypatch: pytest.MonkeyPatch, writer: str) -> list[Any]:
    """What the command hands to the function that writes it as JSON, where curves lose their last digits."""
    seen: list[Any] = []
    module, name = writer.rsplit(".", 1)
    write = getattr(importlib.import_module(module), name)

    def keep(found: Any) -> Any:
        seen.append(found)
        return write(found)

    monkeypatch.setattr(writer, keep)
    return seen


def test_analyse(tmp_path: Path) -> None:
    words, files = side("low_oil", "bench", "damper", "vehicle")
    wanted = said(tmp_path / "out.json", "analyse", SAMPLES / "low_oil.csv", *words)
    run = dampkit.read_run(SAMPLES / "low_oil.csv", files["bench"])
    result = dampkit.analyse(run, damper=files["damper"], vehicle=files["vehicle"])
    assert result.to_dict() == wanted
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


def test_compare(tmp_path: Path) -> None:
    words, files = side(PAIR[0], "bench", "damper")
    logs = [SAMPLES / f"{name}.csv" for name in PAIR]
    found = dampkit.compare(logs, **files, allow_percent=15.0)
    assert compare_record(found).model_dump(mode="json") == said(
        tmp_path / "a", "compare", *logs, *words, "--allow", 15
    )
    assert found.answers == ("out",)
    assert found.frames()["differences"]["gap_n"].tolist() == [d.gap_n.value for d in found.found[0]]


def test_settings(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    words, files = side(PAIR[0], "bench", "damper")
    logs = [SAMPLES / f"{name}.csv" for name in PAIR]
    found = dampkit.settings(logs, [0, 8], **files, step=2.0)
    seen = handed_on(monkeypatch, "dampkit.outcome.side_by_side_record.settings_record")
    wanted = said(tmp_path / "a", "settings", *logs, *words, "--at", "0,8", "--step", 2)
    assert settings_record(found).model_dump(mode="json") == wanted
    for way, forces in found.sweep.force_n.items():
        assert (forces == seen[0].sweep.force_n[way]).all()
        assert (found.sweep.half_n[way] == seen[0].sweep.half_n[way]).all()
    assert [option.setting for option in found.options if option.logged] == [0.0, 8.0]
    assert sorted(found.frames()["options"]["setting"]) == [0.0, 2.0, 4.0, 6.0, 8.0]


def test_reference(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    words, files = side(PAIR[0], "bench", "damper")
    logs, saved = [SAMPLES / f"{name}.csv" for name in PAIR], tmp_path / "made.toml"
    found = dampkit.reference(logs, **files, share=0.9)
    seen = handed_on(monkeypatch, "dampkit.outcome.side_by_side_record.reference_record")
    wanted = said(tmp_path / "a", "reference", *logs, *words, "--share", 0.9, "--save", saved)
    assert reference_record(found).model_dump(mode="json") == wanted
    for way, forces in found.mean_n.items():
        assert (forces == seen[0].mean_n[way]).all()
        assert (found.tolerance_n(way) == seen[0].tolerance_n(way)).all()
    assert found.to_toml(files["damper"].read_text(encoding="utf-8")) == saved.read_text(encoding="utf-8")
    of_call, of_command = (dampkit.Job.load(damper=d).damper for d in (found.to_dict(), saved))
    assert of_call is not None
    assert of_command is not None
    assert of_call.reference == of_command.reference


def test_need(tmp_path: Path) -> None:
    vehicle = SAMPLES / "low_oil.vehicle.toml"
    assert dampkit.need(vehicle).to_dict() == said(tmp_path / "a", "need", vehicle)


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
