"""Everything declared for one test: from files, mappings or models, and each file found beside its log."""

from __future__ import annotations

import subprocess
import sys
from dataclasses import fields
from pathlib import Path

import pytest

from dampkit.damper.declared import DamperSpec
from dampkit.errors import BadSettings
from dampkit.job import MODELS, Job, JobFiles

TEXTS = {
    "bench": "[zero]\nforce_n = 1.5\n",
    "damper": '[damper]\nserial = "A-1"\n',
    "vehicle": (
        "[corner]\nsprung_mass_kg = 380.0\nunsprung_mass_kg = 42.0\nwheel_rate_n_mm = 30.0\n"
        "tyre_rate_n_mm = 200.0\ndamper_motion_ratio = 0.8\n"
    ),
    "inspection": '[inspection]\neyes = "worn bush"\n',
    "costs": "[labour]\nrate_per_hour = 60.0\n",
    "stock": "[bleed]\ndrills_mm = [1.0, 1.2]\n",
}


@pytest.fixture
def log(tmp_path: Path) -> Path:
    """A log with a file of every kind beside it."""
    for kind, text in TEXTS.items():
        (tmp_path / f"run.{kind}.toml").write_text(text)
    return tmp_path / "run.csv"


def test_every_kind_is_found_beside_its_log_and_checked(log: Path) -> None:
    job = JobFiles().beside(log).load()
    assert all(getattr(job, kind) is not None for kind in MODELS)
    assert job.inspection is not None
    assert job.inspection.inspection.eyes == "worn bush"


def test_files_and_job_name_the_same_kinds() -> None:
    assert [f.name for f in fields(Job)] == [f.name for f in fields(JobFiles)] == list(MODELS)


def test_a_mapping_a_model_and_a_file_say_the_same(log: Path) -> None:
    path = log.with_name("run.damper.toml")
    given = {"damper": {"serial": "A-1"}}
    assert Job.load(damper=given) == Job.load(damper=path) == Job.load(damper=DamperSpec.model_validate(given))


def test_a_wrong_mapping_says_where_and_what_was_expected() -> None:
    with pytest.raises(BadSettings, match=r"\[damper\] serial") as caught:
        Job.load(damper={"damper": {"serial": 3}})
    assert len(caught.value.lines()) == 3


def test_what_is_wrong_with_several_files_is_told_at_once() -> None:
    with pytest.raises(BadSettings) as caught:
        Job.load(damper={"damper": {"serial": 3}}, stock={"bleed": {"holes": 9}})
    first, second, third = caught.value.lines()
    assert "[damper] serial: found 3 | what was given as stock, [bleed] holes: found 9" in first
    assert second == "Expected: text in quotes | a number less than or equal to 3"
    assert third.count(" | ") == 1


def test_a_file_of_its_own_goes_before_one_named_and_that_before_the_folders(tmp_path: Path) -> None:
    log, named = tmp_path / "run.csv", tmp_path / "named.toml"
    (tmp_path / "bench.toml").touch()
    assert JobFiles().beside(log) == JobFiles(bench=tmp_path / "bench.toml")
    assert JobFiles(named).beside(log) == JobFiles(named)
    (tmp_path / "run.bench.toml").touch()
    assert JobFiles(named).beside(log) == JobFiles(tmp_path / "run.bench.toml")


def test_what_was_seen_on_one_unit_is_not_taken_for_all_in_its_folder(tmp_path: Path) -> None:
    (tmp_path / "inspection.toml").write_text(TEXTS["inspection"])
    assert JobFiles().beside(tmp_path / "run.csv").inspection is None


def test_a_kind_that_is_not_declared_is_not_imported(log: Path) -> None:
    code = (
        "import sys; from dampkit.job import Job; from pathlib import Path; "
        f"Job.load(bench=Path({str(log.with_name('run.bench.toml'))!r})); "
        "print(*[m for m in sys.modules if m.startswith('dampkit.outcome') or m.startswith('dampkit.needs')])"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.split() == []
