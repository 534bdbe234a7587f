"""Temperature in the result: made-up units tested from 10 to 90 degC, brought to 20, against what is true of them there."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from dampkit.analyse import analyse_job
from dampkit.bench.run import Run
from dampkit.damper.warmth import WIDE_K
from dampkit.job import Job
from dampkit.outcome.measured_record import WarmthRecord
from dampkit.outcome.result import Result
from dampkit.studies.fault_runs import damper_file
from dampkit.studies.made import as_run
from dampkit.virtual.plant import Plant
from dampkit.virtual.programme import STANDARD_SPEEDS_M_S, standard_programme
from dampkit.virtual.rig import Rig, run_bench
from dampkit.virtual.truth import bench_reading
from dampkit.virtual.units import MONOTUBE, TWIN_TUBE

RIG = Rig(sample_rate_hz=500.0, force_noise_n=2.0)
SPEEDS_M_S = STANDARD_SPEEDS_M_S
CLOSE = 0.03


def run_at(unit: Plant, celsius: float, speeds_m_s: tuple[float, ...] = SPEEDS_M_S) -> Run:
    warm = replace(unit, start_c=celsius, ambient_c=celsius, heat_capacity_j_k=500.0)
    log = run_bench([warm], standard_programme(speeds_m_s), RIG, np.random.default_rng(4))[0]
    return as_run(log, RIG)


def job_of(unit: Plant) -> Job:
    """Sizes, reference at 20 degC, and the oil's own viscosities."""
    spec = damper_file(unit)
    oil = {
        "oil_viscosity_40_mm2_s": unit.oil.viscosity_40_mm2_s,
        "oil_viscosity_100_mm2_s": unit.oil.viscosity_100_mm2_s,
    }
    return replace(Job(), damper=spec.model_copy(update={"damper": spec.damper.model_copy(update=oil)}))


def warmth_of(result: Result) -> WarmthRecord:
    assert result.warmth is not None
    return result.warmth


@pytest.mark.slow
@pytest.mark.parametrize(("unit", "celsius"), [(TWIN_TUBE, 10.0), (MONOTUBE, 50.0), (TWIN_TUBE, 90.0)])
def test_forces_at_20_degc_are_within_3_percent_and_nothing_is_found(unit: Plant, celsius: float) -> None:
    """The oil is declared; the slow pass, where friction decides, within its interval. No fade is found in a sound unit."""
    result = analyse_job(run_at(unit, celsius), job_of(unit))
    warmth = warmth_of(result)
    assert warmth.reference_temperature_c == 20.0
    assert (warmth.temperature, warmth.oil, warmth.left_as_read) == ("measured", "declared", False)
    for side in warmth.at_reference_temperature:
        true = bench_reading(unit, side.direction, np.array(side.velocity_m_s), 20.0)
        off = np.array(side.force_n) / true - 1
        assert np.abs(off[1:]).max() < CLOSE
        assert (np.array(side.low_n)[1:] <= true[1:]).all()
        assert (true[1:] <= np.array(side.high_n)[1:]).all()
    assert result.faults == ()


@pytest.mark.slow
def test_without_a_probe_the_temperature_is_estimated_and_a_warm_up_is_asked_for() -> None:
    result = analyse_job(replace(run_at(MONOTUBE, 24.0), temperature_c=None), job_of(MONOTUBE))
    warmth = warmth_of(result)
    assert warmth.temperature == "estimated from work"
    first, last = warmth.stages[0].oil_temperature_c, warmth.stages[-1].oil_temperature_c
    assert first.low < 24.0 < first.high
    assert last.low < last.value < last.high
    assert last.value > first.value + 2.0
    assert [step.action for step in warmth.warm_up] == ["prime", "warm", "rest", "run", "stop"]
    assert all(step.basis for step in warmth.warm_up)
    assert any("log the probe on the body" in line for line in warmth.sentences)
    assert "estimated from the work done" in warmth.sentences[0]
    for side in warmth.at_reference_temperature:
        true = bench_reading(MONOTUBE, side.direction, np.array(side.velocity_m_s), 20.0)
        assert ((np.array(side.low_n) <= true) & (true <= np.array(side.high_n)))[1:].all()


@pytest.mark.slow
def test_over_a_wide_span_nothing_is_moved_by_one_law() -> None:
    """The probe says that the log spans 50 K: only what was read within 5 K of 20 degC stands."""
    run = run_at(MONOTUBE, 20.0)
    hot = replace(run, temperature_c=20.0 + 50.0 * np.clip(2.0 * run.time_s / run.time_s[-1] - 1.0, 0.0, 1.0))
    warmth = warmth_of(analyse_job(hot, job_of(MONOTUBE)))
    assert warmth.left_as_read
    near = [s.oil_temperature_c.value for s in warmth.stages if abs(s.oil_temperature_c.value - 20.0) <= 5.0]
    for side in warmth.at_reference_temperature:
        assert 0 < len(side.velocity_m_s) <= len(near) < len(warmth.stages)
    assert max(s.oil_temperature_c.value for s in warmth.stages) - 20.0 > WIDE_K
    assert any("no one law holds" in line for line in warmth.sentences)
    assert warmth.warm_up
