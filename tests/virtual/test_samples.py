"""The demo runs: complete, small, invented, and the same every time."""

from __future__ import annotations

import tomllib
from dataclasses import replace
from pathlib import Path

import pytest

from dampkit.bench.test import read_test
from dampkit.curves.trace import trace
from dampkit.errors import BadSettings
from dampkit.virtual.form_samples import FORM_SAMPLES, SMALL, FormSample, form_sample_files
from dampkit.virtual.plant import KINDS
from dampkit.virtual.programme import Drive, Programme
from dampkit.virtual.samples import POINT_SAMPLES, SAMPLES, write_samples

QUICK = tuple(
    replace(s, programme=Programme((Drive.at_speed(0.3, 1.0), Drive.at_speed(0.5, 1.0))))
    for s in (*SAMPLES[:5], *(s for s in SAMPLES if s.broken))
)
FOLDER = Path(__file__).parents[2] / "sample_runs"


def test_every_kind_fault_and_habit_has_a_run() -> None:
    assert {s.unit.kind for s in SAMPLES} == set(KINDS)
    assert {s.unit.kind for s in SAMPLES if not s.faults} == {"twin-tube", "monotube", "lever-arm", "friction-disc"}
    assert len({s.dialect.name for s in SAMPLES}) >= 3
    assert sum(s.broken for s in SAMPLES) == 1
    held = {code for s in SAMPLES for code, _ in s.faults}
    assert held >= {
        "low_oil",
        "aerated_oil",
        "low_gas_pressure",
        "internal_leak",
        "weak_blowoff",
        "blocked_bleed",
        "high_friction",
        "bent_rod",
        "loose_mount",
        "fade",
        "trapped_air",
    }


def test_made_twice_byte_for_byte_the_same(tmp_path: Path) -> None:
    first, second = write_samples(tmp_path / "a", QUICK), write_samples(tmp_path / "b", QUICK)
    assert [p.name for p in first] == [p.name for p in second]
    assert len(first) == 4 * len(QUICK)
    assert all(a.read_bytes() == b.read_bytes() for a, b in zip(first, second, strict=True))


def test_toml_files_hold_the_agreed_tables(tmp_path: Path) -> None:
    for path in write_samples(tmp_path, QUICK[:4]):
        if path.suffix == ".toml":
            tables = tomllib.loads(path.read_text())
            wanted = {"bench": "signs", "damper": "reference", "vehicle": "corner"}[path.name.split(".")[-2]]
            assert wanted in tables


def test_folder_as_shipped_is_whole_and_small() -> None:
    files = [p for p in FOLDER.iterdir() if p.is_file()]
    ends = (".csv", ".bench.toml", ".damper.toml", ".vehicle.toml")
    wanted = {f"{s.name}{end}" for s in SAMPLES for end in ends if s.car is not None or end != ".vehicle.toml"}
    assert wanted <= {p.name for p in files}
    assert sum(p.stat().st_size for p in files) < 25e6


@pytest.mark.slow
def test_a_shipped_run_is_remade_byte_for_byte(tmp_path: Path) -> None:
    for path in write_samples(tmp_path, [s for s in SAMPLES if s.name in ("sound_lever_arm", "broken_log")]):
        assert path.read_bytes() == (FOLDER / path.name).read_bytes(), path.name


def test_the_shipped_tables_are_remade_byte_for_byte(tmp_path: Path) -> None:
    made = write_samples(tmp_path, (), POINT_SAMPLES)
    assert len(made) == sum(5 if s.bench else 4 for s in POINT_SAMPLES)
    for path in made:
        assert path.read_bytes() == (FOLDER / path.name).read_bytes(), path.name


def test_a_folder_that_cannot_be_made_is_refused(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("in the way")
    with pytest.raises(BadSettings, match="cannot be made"):
        write_samples(tmp_path / "file", QUICK[:1])


def test_the_other_forms_of_test_are_remade_byte_for_byte() -> None:
    made = form_sample_files()
    assert len({name.split(".")[0].split("_")[0] for name in made}) >= 9
    for name, content in made.items():
        if not name.endswith(".gz"):  # packed bytes differ from one zlib to the next
            assert (FOLDER / name).read_bytes() == content, name


@pytest.mark.slow
@pytest.mark.parametrize("sample", FORM_SAMPLES, ids=lambda s: s.name)
def test_every_other_form_as_shipped_holds_the_same_stages(sample: FormSample) -> None:
    """Peak speeds that the programme was run at; 1 % for noise and the coarse rows."""
    names = [name for name in form_sample_files() if name.split(".")[0].rstrip("_0123456789") == sample.name]
    paths = [FOLDER / name for name in names if not name.endswith(".bench.toml")]
    loops = trace(read_test(paths, FOLDER / f"{sample.name}.bench.toml").run).loops
    asked = [drive.peak_velocity_m_s for drive in SMALL.drives]
    assert [loop.peak_velocity_m_s for loop in loops] == pytest.approx(asked, rel=0.01)
