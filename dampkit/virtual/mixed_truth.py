"""What is true of one run of the mixed fleet: of the unit, of the bench, and stage by stage at the oil's temperature."""

from __future__ import annotations

import numpy as np

from dampkit.frozen import frozen
from dampkit.quantities import DIRECTIONS, Array
from dampkit.virtual.integrate import Motion
from dampkit.virtual.oil import ATMOSPHERE_PA
from dampkit.virtual.plant import Plant
from dampkit.virtual.programme import Programme
from dampkit.virtual.rig import Ran, Rig
from dampkit.virtual.truth import hydraulic_force


@frozen
class StageTruth:
    """One stage. Pairs are (rebound, compression), magnitudes; forces are of oil alone, at mid-stroke."""

    start_s: float  # in the log's time
    stop_s: float
    stroke_m: float
    cycles: float
    is_sweep: bool
    peak_velocity_m_s: tuple[float, float]
    temperature_c: float  # mean of the oil
    hydraulic_force_n: tuple[float, float]
    rod_gas_m3: tuple[float, float]  # most loose gas above and below the piston, at one atmosphere


@frozen
class MixedTruth:
    """The unit as it was run, and the bench's flaws that no file declares."""

    kind: str
    faults: tuple[tuple[str, float], ...]
    programme: str
    drive: str
    valves: str
    friction_n: float
    breakaway_ratio: float
    gas_force_n: float  # negative: it pushes the rod out
    play_mm: float
    series_stiffness_n_m: float  # bush and frame together
    carry: float  # gas share of what leaves a chamber over the gas share of the chamber
    oil_missing_m3: float
    cell_zero_n: float  # as it is; the declared one may miss it a little
    zero_declared: bool
    has_temperature: bool
    moving_mass_kg: float
    force_delay_s: float
    stages: tuple[StageTruth, ...]


def stage_truths(plant: Plant, programme: Programme, ran: Ran) -> tuple[StageTruth, ...]:
    """Every stage of a run."""
    return tuple(_stage(plant, programme, ran, index) for index in range(len(programme.drives)))


def _stage(plant: Plant, programme: Programme, ran: Ran, index: int) -> StageTruth:
    drive, begin = programme.drives[index], programme.record_from_s
    start, stop = programme.starts_s[index], programme.stops_s[index]
    inside = (ran.trace.time_s >= start) & (ran.trace.time_s <= stop)
    celsius = float(np.mean(ran.trace.temperature_c[inside, 0]))
    peaks = _peaks(ran.motion, start, stop, 2.2 * programme.run_up_turns / drive.frequency_hz)
    out, back = (
        float(hydraulic_force(plant, side, np.array([peak]), celsius)[0])
        for side, peak in zip(DIRECTIONS, peaks, strict=True)
    )
    gas = ran.trace.gas_m3[inside, :2, 0].max(axis=0)
    return StageTruth(
        start_s=max(start - begin, 0.0),
        stop_s=stop - begin,
        stroke_m=drive.stroke_m,
        cycles=drive.cycles,
        is_sweep=drive.sweep_from != 1.0,
        peak_velocity_m_s=peaks,
        temperature_c=celsius,
        hydraulic_force_n=(out, back),
        rod_gas_m3=(float(gas[0]), float(gas[1])),
    )


def _peaks(motion: Motion, start_s: float, stop_s: float, edge_s: float) -> tuple[float, float]:
    """Highest speed out and in, away from the start and the stop."""
    speed: Array = np.gradient(motion.displacement_m, motion.time_s)
    inner = speed[(motion.time_s > start_s + edge_s) & (motion.time_s < stop_s - edge_s)]
    return float(inner.max()), float(-inner.min())


def series_stiffness(plant: Plant, rig: Rig) -> float:
    return 1.0 / (1.0 / plant.series_stiffness_n_m + rig.flex_m_n)


def oil_missing_m3(sound: Plant, plant: Plant) -> float:
    """Oil that the reserve has lost to a fault."""
    return sound.reserve_oil_m3 - plant.reserve_oil_m3


def is_charged(plant: Plant) -> bool:
    return plant.gas_pressure_pa > 1.05 * ATMOSPHERE_PA
