"""The made-up bench as an instrument: what its channels make of the plant."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Literal

import numpy as np

from dampkit.errors import BadSettings
from dampkit.frozen import frozen
from dampkit.quantities import Array
from dampkit.virtual.crank import lag_of_trace, lagging, steady_lag
from dampkit.virtual.integrate import Motion, Trace, simulate
from dampkit.virtual.plant import Plant
from dampkit.virtual.programme import Programme


@frozen
class Rig:
    """Sampling, noise, resolution and the flaws of a bench; the defaults are a good one. SI units."""

    sample_rate_hz: float = 1000.0
    force_noise_n: float = 2.0
    displacement_noise_m: float = 1e-5
    velocity_noise_m_s: float = 2e-3
    force_step_n: float = 0.5
    displacement_step_m: float = 5e-6
    temperature: Literal["none", "steady", "drifting"] = "steady"
    temperature_drift_k_s: float = 0.05
    temperature_lag_s: float = 0.0  # first order: a probe on the body follows the oil late
    cell_zero_n: float = 0.0
    cell_drift_n_s: float = 0.0
    hum_n: float = 0.0  # amplitude on the force channel
    hum_hz: float = 50.0
    cell_limit_n: float | None = None
    force_delay_s: float = 0.0
    force_cutoff_hz: float | None = None  # one-sided low-pass of second order on force alone
    moving_mass_kg: float = 0.0
    flex_m_n: float = 0.0  # give of frame and clevises, in series with the bush of the unit
    stop_at_m: float | None = None  # a rubber stop beside the damper, met beyond this extension
    stop_stiffness_n_m: float = 2e5
    droop_per_w: float = 0.0  # share of crank speed lost per watt drawn at that moment
    droop_share: float = 0.0  # share of crank speed lost at the greatest power of each stage, by the steady curve
    time_jitter: float = 0.0  # share of the sample interval
    repeated_share: float = 0.0  # share of rows whose time stamp repeats the one before
    missing_share: float = 0.0  # share of rows lost, in bursts of ten
    velocity_channel: bool = False


@frozen
class Setup:
    """A unit on a bench that runs a programme; `seed` is that of the noise."""

    plant: Plant
    programme: Programme
    rig: Rig
    seed: int


@frozen
class Log:
    """What the bench recorded, in SI with the package's signs. Arrays (R,); absent channels are None."""

    time_s: Array
    displacement_m: Array
    force_n: Array
    velocity_m_s: Array | None = None
    temperature_c: Array | None = None


@frozen
class Ran:
    """What a setup gave: its log, what the bench did, and what went on in the unit (a trace of one)."""

    log: Log
    motion: Motion
    trace: Trace


def run_bench(
    plants: Sequence[Plant], programme: Programme, rig: Rig, rng: np.random.Generator, steps_per_cycle: int = 240
) -> tuple[Log, ...]:
    """One log a plant, all on the same programme. The same generator state gives the same logs."""
    plants = [_on_frame(p, rig) for p in plants]
    motion, lag = motion_of(programme, steps_per_cycle), None
    if rig.droop_share:
        lag = np.stack([steady_lag(p, programme, motion.time_s, rig.droop_share) for p in plants], axis=1)
        motion = lagging(programme, motion.time_s, lag)
    trace = simulate(plants, motion)
    if rig.droop_per_w:
        lag = lag_of_trace(programme, motion, trace, rig.droop_per_w)
        motion = lagging(programme, motion.time_s, lag)
        trace = simulate(plants, motion)
    late = [None if lag is None else (motion.time_s, lag[:, i]) for i in range(len(plants))]
    return tuple(record(programme, rig, trace, i, rng, late[i]) for i in range(len(plants)))


def run_benches(setups: Sequence[Setup], steps_per_cycle: int = 240) -> tuple[Ran, ...]:
    """Each setup on a bench and a programme of its own, all in one integration.

    The load on the crank is taken from the steady curve alone. A log may differ in the last digit with the company in
    which it is made, since a step ends when all have settled. Raises ArithmeticError where one does not.
    """
    if any(s.rig.droop_per_w for s in setups):
        raise BadSettings("made-up bench", "droop_per_w on a bench of its own", "droop_share", "use run_bench for it")
    plants = [_on_frame(s.plant, s.rig) for s in setups]
    times = [s.programme.steps(steps_per_cycle) for s in setups]
    longest = max(t.size for t in times)
    clocks = [np.append(t, t[-1] + 0.02 * np.arange(1, longest - t.size + 1)) for t in times]
    lags = [
        steady_lag(p, s.programme, t, s.rig.droop_share) if s.rig.droop_share else None
        for s, p, t in zip(setups, plants, clocks, strict=True)
    ]
    moved = [s.programme.displacement(t, lag) for s, t, lag in zip(setups, clocks, lags, strict=True)]
    trace = simulate(plants, Motion(np.stack(clocks, axis=1), np.stack(moved, axis=1)))
    out = []
    for i, (setup, time_s, lag) in enumerate(zip(setups, clocks, lags, strict=True)):
        late, rows = None if lag is None else (time_s, lag), times[i].size
        log = record(setup.programme, setup.rig, trace, i, np.random.default_rng(setup.seed), late)
        out.append(Ran(log, Motion(times[i], moved[i][:rows]), trace.alone(i, rows)))
    return tuple(out)


def motion_of(programme: Programme, steps_per_cycle: int = 240) -> Motion:
    """The programme at the steps of the integration."""
    time_s = programme.steps(steps_per_cycle)
    return Motion(time_s, programme.displacement(time_s))


def _on_frame(plant: Plant, rig: Rig) -> Plant:
    """The plant with the give of the frame in series."""
    if not rig.flex_m_n:
        return plant
    return replace(plant, series_stiffness_n_m=1.0 / (1.0 / plant.series_stiffness_n_m + rig.flex_m_n))


def record(
    programme: Programme, rig: Rig, trace: Trace, index: int, rng: np.random.Generator, lag: tuple[Array, Array] | None
) -> Log:
    """Sample one plant's trace through the channels of the rig."""
    interval = 1.0 / rig.sample_rate_hz
    begin = programme.record_from_s
    stamp = begin + np.arange(int((programme.duration_s - begin) * rig.sample_rate_hz)) * interval
    time_s = stamp + rig.time_jitter * interval * rng.uniform(-0.5, 0.5, stamp.size)

    def where(at: Array) -> Array:
        return programme.displacement(at, None if lag is None else np.interp(at, *lag))

    near = 2e-5
    back, here, ahead = where(time_s - near), where(time_s), where(time_s + near)
    clock = trace.time_s if trace.time_s.ndim == 1 else trace.time_s[:, index]
    force = np.interp(time_s - rig.force_delay_s, clock, trace.force_n[:, index])
    force += rig.moving_mass_kg * np.interp(time_s - rig.force_delay_s, time_s, (ahead - 2.0 * here + back) / near**2)
    if rig.stop_at_m is not None:
        force += rig.stop_stiffness_n_m * np.maximum(where(time_s - rig.force_delay_s) - rig.stop_at_m, 0.0)
    force += rig.hum_n * np.sin(2.0 * np.pi * rig.hum_hz * time_s) + rig.cell_drift_n_s * time_s
    log = Log(
        time_s=time_s - begin,
        displacement_m=_stepped(here + rng.normal(0.0, rig.displacement_noise_m, here.size), rig.displacement_step_m),
        force_n=_force_channel(force, rig, rng),
        velocity_m_s=(ahead - back) / (2.0 * near) + rng.normal(0.0, rig.velocity_noise_m_s, here.size)
        if rig.velocity_channel
        else None,
        temperature_c=_temperature_channel(np.interp(time_s, clock, trace.temperature_c[:, index]), time_s, rig),
    )
    return _row_flaws(log, rig, rng)


def _stepped(values: Array, step: float) -> Array:
    return np.round(values / step) * step if step else values


def _force_channel(force: Array, rig: Rig, rng: np.random.Generator) -> Array:
    """Cell noise, low-pass, zero, resolution and the end of its range."""
    reading = force + rng.normal(0.0, rig.force_noise_n, force.size) + rig.cell_zero_n
    if rig.force_cutoff_hz is not None:
        from scipy.signal import butter, lfilter, lfilter_zi

        b, a = butter(2, rig.force_cutoff_hz / (0.5 * rig.sample_rate_hz))
        reading = lfilter(b, a, reading, zi=lfilter_zi(b, a) * reading[0])[0]
    reading = _stepped(reading, rig.force_step_n)
    return reading if rig.cell_limit_n is None else np.clip(reading, -rig.cell_limit_n, rig.cell_limit_n)


def _temperature_channel(temperature: Array, time_s: Array, rig: Rig) -> Array | None:
    if rig.temperature == "none":
        return None
    if rig.temperature_lag_s:
        from scipy.signal import lfilter

        share = -np.expm1(-1.0 / (rig.sample_rate_hz * rig.temperature_lag_s))
        start = temperature[0]
        temperature = start + lfilter([share], [1.0, share - 1.0], temperature - start)
    drift = rig.temperature_drift_k_s * time_s if rig.temperature == "drifting" else 0.0
    return _stepped(temperature + drift, 0.1)


def _row_flaws(log: Log, rig: Rig, rng: np.random.Generator) -> Log:
    """Lose rows in bursts and repeat time stamps."""
    rows = log.time_s.size
    keep = np.ones(rows, dtype=bool)
    for start in rng.integers(1, max(2, rows - 10), size=round(0.1 * rig.missing_share * rows)).tolist():
        keep[start : start + 10] = False
    time_s = log.time_s.copy()
    again = rng.integers(1, max(2, rows), size=round(rig.repeated_share * rows))
    time_s[again] = time_s[again - 1]
    return Log(
        time_s[keep],
        log.displacement_m[keep],
        log.force_n[keep],
        None if log.velocity_m_s is None else log.velocity_m_s[keep],
        None if log.temperature_c is None else log.temperature_c[keep],
    )
