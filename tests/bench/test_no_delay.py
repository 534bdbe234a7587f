"""Where there is no delay none is taken out: sound units and those that hold the force back by a travel."""

from __future__ import annotations

from contextlib import suppress
from dataclasses import replace

import numpy as np
import pytest

from dampkit.bench.corrections import corrected
from dampkit.bench.declared import BenchSpec
from dampkit.bench.run import Run
from dampkit.errors import BadSettings
from dampkit.quantities import read_only
from dampkit.virtual.faulted import faulted
from dampkit.virtual.plant import KINDS, Kind, Plant
from dampkit.virtual.rig import Log, Rig, run_bench
from dampkit.virtual.units import random_unit
from tests.bench.flawed import codes, ladder

pytestmark = pytest.mark.slow  # each makes a whole ladder on a bench of its own

HELD_BACK = ("low_oil", "loose_mount", "aerated_oil", "trapped_air")
SEED = 411


def as_run(log: Log, rig: Rig) -> Run:
    time, place, force = (read_only(values) for values in (log.time_s, log.displacement_m, log.force_n))
    run = Run("made-up", "0" * 64, time.size, time, place, force, zero_known=True)
    return replace(run, force_resolution_n=rig.force_step_n, displacement_resolution_m=rig.displacement_step_m)


def units(kind: Kind, rng: np.random.Generator) -> list[Plant]:
    sound = [random_unit(rng, kind) for _ in range(5)]
    worn = []
    for code in HELD_BACK:
        for severity in (2.0, 4.0):
            with suppress(BadSettings):  # a kind that cannot have it
                worn.append(faulted(sound[0], code, severity))
    return sound + worn


@pytest.mark.parametrize("rate_hz", [500.0, pytest.param(2000.0, marks=pytest.mark.slow)])
@pytest.mark.parametrize("kind", KINDS)
def test_no_delay_is_found_where_there_is_none(kind: Kind, rate_hz: float) -> None:
    rng = np.random.default_rng([SEED, int(rate_hz), KINDS.index(kind)])
    rig = Rig(sample_rate_hz=rate_hz)
    for log in run_bench(units(kind, rng), ladder(kind), rig, rng):
        run = as_run(log, rig)
        after = corrected(run, BenchSpec())
        assert "channel_delay" not in codes(after.quality)
        assert after.force_n is run.force_n
