"""The channels of the made-up bench."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from dampkit.errors import BadSettings
from dampkit.quantities import Array
from dampkit.virtual.flow import flow
from dampkit.virtual.plant import Friction, Plant
from dampkit.virtual.programme import Drive, Programme
from dampkit.virtual.rig import Log, Rig, Setup, run_bench, run_benches
from dampkit.virtual.units import BASE, FRICTION_DISC, MONOTUBE, TWIN_TUBE

SHORT = Programme((Drive.at_speed(0.3, 3.0), Drive.at_speed(0.6, 3.0)), dwell_s=0.2)
CLEAN = Rig(
    force_noise_n=0.0, displacement_noise_m=0.0, velocity_noise_m_s=0.0, force_step_n=0.0, displacement_step_m=0.0
)


def log_of(rig: Rig, plant: Plant = TWIN_TUBE, programme: Programme = SHORT) -> Log:
    return run_bench([plant], programme, rig, np.random.default_rng(3))[0]


@pytest.fixture(scope="module")
def clean() -> Log:
    return log_of(CLEAN)


def test_same_generator_state_same_log() -> None:
    first, second = log_of(Rig()), log_of(Rig())
    assert first.force_n.tobytes() == second.force_n.tobytes()
    assert first.displacement_m.tobytes() == second.displacement_m.tobytes()


def test_noise_and_resolution_are_what_was_asked_for(clean: Log) -> None:
    noisy = log_of(replace(CLEAN, force_noise_n=3.0, force_step_n=0.5, displacement_step_m=1e-5))
    assert np.std(noisy.force_n - clean.force_n) == pytest.approx(3.0, rel=0.05)
    assert np.abs(noisy.force_n / 0.5 - np.round(noisy.force_n / 0.5)).max() < 1e-9
    assert np.abs(noisy.displacement_m - clean.displacement_m).max() <= 0.5001e-5


def test_delay_moves_the_force_channel_in_time(clean: Log) -> None:
    late = log_of(replace(CLEAN, force_delay_s=0.004))
    assert late.force_n[10:] == pytest.approx(clean.force_n[6:-4], abs=1e-6)
    assert late.displacement_m == pytest.approx(clean.displacement_m, abs=0.0)


def test_moving_mass_adds_mass_times_acceleration(clean: Log) -> None:
    heavy = log_of(replace(CLEAN, moving_mass_kg=2.0))
    drive = SHORT.drives[1]
    top = SHORT.starts_s[1] + (0.025 + 1.25) / drive.frequency_hz  # outer dead centre
    row = round(top * 1000)
    expected = -2.0 * (2.0 * np.pi * drive.frequency_hz) ** 2 * 0.025
    assert heavy.force_n[row] - clean.force_n[row] == pytest.approx(expected, rel=0.01)


def test_low_pass_lags_by_its_group_delay(clean: Log) -> None:
    filtered = log_of(replace(CLEAN, force_cutoff_hz=50.0))
    # second-order Butterworth at low frequency: delay sqrt(2)/(2 pi fc) = 4.5 ms (textbook)
    shifts = np.arange(0, 12)
    misfit = [
        float(np.sum((filtered.force_n[20:] - clean.force_n[20 - s : clean.force_n.size - s]) ** 2)) for s in shifts
    ]
    assert int(np.argmin(misfit)) in (4, 5)


def test_zero_clip_and_stop(clean: Log) -> None:
    rig = replace(CLEAN, cell_zero_n=40.0, cell_limit_n=500.0)
    shifted = log_of(rig)
    assert shifted.force_n.max() == 500.0
    inside = np.abs(clean.force_n + 40.0) < 500.0
    assert shifted.force_n[inside] == pytest.approx(clean.force_n[inside] + 40.0)
    stopped = log_of(replace(CLEAN, stop_at_m=0.022))
    assert (stopped.force_n - clean.force_n).max() == pytest.approx(2e5 * 0.003, rel=1e-3)


def test_rows_are_lost_and_time_stamps_repeated(clean: Log) -> None:
    damaged = log_of(replace(CLEAN, missing_share=0.02, repeated_share=0.01))
    lost = 1.0 - damaged.time_s.size / clean.time_s.size
    assert 0.01 < lost < 0.021
    assert np.count_nonzero(np.diff(damaged.time_s) == 0.0) > 0
    assert np.diff(damaged.time_s).max() > 0.009


def test_uneven_time_stays_true_to_the_motion() -> None:
    uneven = log_of(replace(CLEAN, time_jitter=0.6))
    assert np.std(np.diff(uneven.time_s)) > 1e-4
    assert uneven.displacement_m == pytest.approx(SHORT.displacement(uneven.time_s), abs=1e-12)


def test_drive_slows_under_load_and_keeps_its_mean() -> None:
    slowed = log_of(replace(CLEAN, droop_per_w=5e-4))
    lag = slowed.displacement_m - SHORT.displacement(slowed.time_s)
    assert 1e-4 < np.abs(lag).max() < 5e-3
    still = slowed.time_s > SHORT.stops_s[1] + 1e-3
    assert np.abs(lag[still]).max() < 1e-9


def test_slowing_crank_has_the_harmonics_of_its_share() -> None:
    # viscous unit: power goes as (1 + cos 2a)/2, the crank lags by share/4 sin 2a, and sin(a - s/4 sin 2a) has a third
    # harmonic of s/8 to first order, no second (Fourier series, written out)
    friction = Friction(sliding_n=0.0, viscous_n_s_m=1000.0)
    viscous = replace(FRICTION_DISC, friction=friction, series_stiffness_n_m=1e8)
    programme = Programme((Drive(0.05, 2.0, 4.0),))
    log = log_of(replace(CLEAN, droop_share=0.24), viscous, programme)
    inside = (log.time_s > programme.starts_s[0] + 0.5) & (log.time_s <= programme.starts_s[0] + 1.5 + 1e-9)
    harmonics = np.abs(np.fft.rfft(log.displacement_m[inside])) / (0.5 * np.count_nonzero(inside))
    assert harmonics[6] / harmonics[2] == pytest.approx(0.24 / 8.0, rel=0.08)
    assert harmonics[4] / harmonics[2] < 0.003
    unlike = log_of(replace(CLEAN, droop_share=0.3), TWIN_TUBE, programme).displacement_m[inside]
    both = np.abs(np.fft.rfft(unlike))
    assert 0.02 < (both[4] + both[6]) / both[2] < 0.08


def test_hum_drift_and_flex(clean: Log) -> None:
    humming = log_of(replace(CLEAN, hum_n=4.0, cell_drift_n_s=0.5))
    added = humming.force_n - clean.force_n
    assert added == pytest.approx(4.0 * np.sin(100.0 * np.pi * clean.time_s) + 0.5 * clean.time_s, abs=1e-9)
    soft = log_of(replace(CLEAN, flex_m_n=1.0 / TWIN_TUBE.series_stiffness_n_m))
    half = log_of(CLEAN, replace(TWIN_TUBE, series_stiffness_n_m=0.5 * TWIN_TUBE.series_stiffness_n_m))
    assert soft.force_n == pytest.approx(half.force_n, abs=1e-6)


def test_probe_on_the_body_follows_late() -> None:
    quick = replace(TWIN_TUBE, heat_capacity_j_k=50.0)
    here, late = log_of(CLEAN, quick).temperature_c, log_of(replace(CLEAN, temperature_lag_s=2.0), quick).temperature_c
    assert here is not None
    assert late is not None
    assert late[0] == here[0]
    assert late[-1] < here[-1] - 0.3
    # first order: the convolution of the rise with exp(-t/T)/T
    weight = np.exp(-np.arange(here.size)[::-1] * 1e-3 / 2.0) * 1e-3 / 2.0
    assert late[-1] == pytest.approx(here[0] + float(np.sum((here - here[0]) * weight)), abs=0.15)


def test_benches_side_by_side_are_the_same_as_one_by_one() -> None:
    other = Programme((Drive.at_speed(0.2, 2.0),), dwell_s=0.1)
    setups = [Setup(TWIN_TUBE, SHORT, CLEAN, 3), Setup(MONOTUBE, other, replace(CLEAN, sample_rate_hz=500.0), 3)]
    first, second = run_benches(setups)
    assert first.log.force_n == pytest.approx(log_of(CLEAN).force_n, abs=0.2)
    alone = log_of(replace(CLEAN, sample_rate_hz=500.0), MONOTUBE, other)
    assert second.log.force_n == pytest.approx(alone.force_n, abs=0.2)
    assert second.trace.time_s[-1] == pytest.approx(other.duration_s)
    with pytest.raises(BadSettings, match="droop"):
        run_benches([replace(setups[0], rig=replace(CLEAN, droop_per_w=1e-4))])


def test_temperature_channel_absent_true_or_drifting() -> None:
    assert log_of(replace(CLEAN, temperature="none")).temperature_c is None
    true, drifting = log_of(CLEAN), log_of(replace(CLEAN, temperature="drifting", temperature_drift_k_s=1.0))
    assert true.temperature_c is not None
    assert drifting.temperature_c is not None
    assert drifting.temperature_c - true.temperature_c == pytest.approx(true.time_s, abs=0.11)


def test_velocity_channel_is_the_slope_of_displacement() -> None:
    log = log_of(replace(CLEAN, velocity_channel=True))
    assert log.velocity_m_s is not None
    slope: Array = np.gradient(log.displacement_m, log.time_s)
    moving = np.abs(np.gradient(slope, log.time_s)) < 60.0
    assert log.velocity_m_s[moving] == pytest.approx(slope[moving], abs=0.02)


def test_friction_disc_loop_is_a_rectangle() -> None:
    # Coulomb: energy of a cycle 4 F X, here less the elastic corners; viscous part and break-away taken out
    friction = replace(FRICTION_DISC.friction, breakaway_ratio=1.0, viscous_n_s_m=0.0)
    programme = Programme((Drive.at_speed(0.1, 2.0),))
    log = log_of(CLEAN, replace(FRICTION_DISC, friction=friction), programme)
    work = float(np.trapezoid(log.force_n, log.displacement_m))
    corner = 2.0 * friction.sliding_n / FRICTION_DISC.series_stiffness_n_m
    assert work / 2.0 == pytest.approx(4.0 * friction.sliding_n * (0.025 - 0.5 * corner), rel=0.01)


@pytest.fixture
def evaluations(monkeypatch: pytest.MonkeyPatch) -> list[int]:
    """One entry for each time that the flows of the whole fleet are worked out; what a run costs is mostly these."""
    made: list[int] = []

    def counted(drop: Array, *more: Array) -> object:
        made.append(drop.shape[-1])
        return flow(drop, *more)

    monkeypatch.setattr("dampkit.virtual.integrate.flow", counted)
    return made


@pytest.mark.parametrize("plant", [units[0] for units in BASE.values()], ids=lambda p: p.kind)
def test_a_step_takes_few_evaluations_whatever_the_kind(plant: Plant, evaluations: list[int]) -> None:
    """1.6 to 2.2 a step when written; two is the least that a corrected step can do."""
    run_bench([plant], SHORT, Rig(), np.random.default_rng(0))
    assert len(evaluations) < 3 * len(SHORT.steps(240))


def test_a_fleet_takes_hardly_more_evaluations_than_one_of_it(evaluations: list[int]) -> None:
    run_bench([TWIN_TUBE], SHORT, Rig(), np.random.default_rng(0))
    alone = len(evaluations)
    run_bench([TWIN_TUBE, MONOTUBE] * 20, SHORT, Rig(), np.random.default_rng(0))
    assert len(evaluations) - alone < 1.5 * alone
    assert evaluations[-1] == 40
