"""Sound units on good benches, made-up ones and the sample runs, raise no doubt about the bench."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from dampkit.bench.test import read_run
from dampkit.bench.toml_file import declared
from dampkit.curves.trace import trace
from dampkit.damper.declared import DamperSpec
from dampkit.damper.identify import identify
from dampkit.virtual.plant import KINDS, Kind
from dampkit.virtual.rig import Rig, run_bench
from dampkit.virtual.samples import SAMPLES, sample_files
from dampkit.virtual.units import random_unit
from tests.bench.flawed import codes, ladder, read
from tests.damper.test_bench_flaws import spec_of

pytestmark = pytest.mark.slow  # each makes a whole ladder on a bench of its own

DOUBTS = {
    *("zero_offset", "force_clipped", "force_held", "force_scale", "stroke_scale", "gaps", "rows_missing"),
    *("time_uneven", "time_disorder", "channel_delay", "force_filtered", "moving_mass", "drive_slows", "stop_met"),
    *("temperature_drifts", "repeat_differs", "first_cycle_differs"),
}
NO_REPEAT = {"no_repeat", "no_temperature"}


@pytest.mark.slow
@pytest.mark.parametrize("kind", KINDS)
def test_made_up_units_on_a_good_bench(tmp_path: Path, kind: Kind) -> None:
    rng = np.random.default_rng([12, KINDS.index(kind)])
    plants = [random_unit(rng, kind) for _ in range(3)]
    for plant, log in zip(plants, run_bench(plants, ladder(kind), Rig(sample_rate_hz=500.0), rng), strict=True):
        run = read(tmp_path, log)
        curves = trace(run)
        fit = identify(curves, spec_of(plant))
        assert not codes([*run.quality, *curves.quality, *fit.quality]) & (DOUBTS | NO_REPEAT)


@pytest.mark.parametrize("name", [sample.name for sample in SAMPLES if not sample.faults and not sample.broken])
def test_sound_sample_runs(tmp_path: Path, name: str) -> None:
    (sample,) = (s for s in SAMPLES if s.name == name)
    for file, content in sample_files(sample).items():
        (tmp_path / file).write_bytes(content)
    run = read_run(tmp_path / f"{name}.csv", tmp_path / f"{name}.bench.toml")
    curves = trace(run)
    fit = identify(curves, declared(tmp_path / f"{name}.damper.toml", DamperSpec))
    assert not codes([*run.quality, *curves.quality, *fit.quality]) & DOUBTS
    assert codes(curves.quality) == {"no_repeat"}  # the samples' ladders do not come back to their first speed
