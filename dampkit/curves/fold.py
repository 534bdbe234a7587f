"""A stage folded on its cycles: one loop of equal time steps, velocity from the harmonics of the displacement."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from dampkit.bench.run import Run
from dampkit.curves.loop import Loop, Stage
from dampkit.quantities import Array, Mask, read_only

POINTS = 512  # of a loop
SETTLE_FROM = 3  # a stage with so many cycles or more leaves its first one out of every mean
STANDS_OUT = 5.0  # a harmonic of the displacement is kept where it is so many times the noise floor
LONG_GAP = 0.01  # of a period: a log that is used as it is has a cycle with such a gap left out
HIGHEST_HARMONIC = POINTS // 8


def fold(run: Run, stage: Stage) -> Loop:
    """The loop of one stage.

    Displacement: mean over the cycles, then only the harmonics that stand out of the noise; velocity and
    acceleration are the exact derivatives of those. Force: each cycle on its own, unfiltered but for the
    mean over the rows that fall on a point.
    Source: own; the bandwidth is `harmonics` times the stage frequency, and what is left out is below the noise.
    """
    position = _per_cycle(run, stage, run.displacement_m)
    spectrum = np.fft.rfft(position.mean(axis=0)) / POINTS
    keep = _harmonics_kept(spectrum, rows_per_cycle=(stage.stop - stage.start) / stage.cycles)
    shift = _rising_middle(spectrum[1])
    spectrum = np.where(keep, spectrum, 0) * np.exp(2j * np.pi * np.arange(spectrum.size) * shift)
    omega = 2j * np.pi * stage.frequency_hz * np.arange(spectrum.size)
    x, v, a = (np.fft.irfft(spectrum * omega**k * POINTS, POINTS) for k in range(3))
    force = _rotate(_per_cycle(run, stage, run.force_n), shift)
    first = 1 if stage.cycles >= SETTLE_FROM else 0
    whole = _without_gap(run, stage) if run.as_logged else np.ones(stage.cycles, dtype=bool)
    settled = force[first:][whole[first:]] if whole[first:].any() else force[first:]
    return Loop(
        stage,
        read_only(x),
        read_only(v),
        read_only(a),
        read_only(settled),
        int(np.flatnonzero(keep)[-1]),
        run_in_force_n=read_only(force[:first]),
    )


def _without_gap(run: Run, stage: Stage) -> Mask:
    """True for each cycle in which no rows are missing for longer than a share of the period; shape (cycles,)."""
    t = run.time_s[stage.start : stage.stop]
    steps = np.diff(t)
    gaps = np.flatnonzero(steps > max(1.5 * float(np.median(steps)), LONG_GAP / stage.frequency_hz))
    whole = np.ones(stage.cycles, dtype=bool)
    for ends in (t[gaps], t[gaps + 1]):
        whole[np.minimum(((ends - t[0]) * stage.frequency_hz).astype(np.intp), stage.cycles - 1)] = False
    return whole


def _per_cycle(run: Run, stage: Stage, channel: Array) -> Array:
    """A channel on the loop's points, cycle by cycle: shape (cycles, POINTS)."""
    rows = slice(stage.start, stage.stop)
    t, y = run.time_s[rows], channel[rows]
    total = stage.cycles * POINTS
    place = (t - t[0]) * stage.frequency_hz * POINTS
    if t.size >= 4 * total:
        bins = np.minimum((place + 0.5).astype(np.intp), total - 1)
        counts = np.bincount(bins, minlength=total)
        if counts.all():
            mean = np.bincount(bins, y, total) / counts
            return np.asarray(mean.reshape(stage.cycles, POINTS))
    return np.interp(np.arange(total), place, y).reshape(stage.cycles, POINTS)


def _harmonics_kept(spectrum: npt.NDArray[np.complex128], rows_per_cycle: float) -> Mask:
    """True for the mean, the fundamental and every harmonic that stands out of the noise.

    The noise floor is read above the highest harmonic considered and below what the rows can carry.
    """
    size = np.abs(spectrum)
    highest = int(min(HIGHEST_HARMONIC, rows_per_cycle / 6))
    floor = float(np.median(size[highest : int(min(POINTS, 0.8 * rows_per_cycle) / 2)]))
    keep = size > STANDS_OUT * floor
    keep[highest:] = False
    keep[:2] = True
    return np.asarray(keep)


def _rising_middle(fundamental: complex) -> float:
    """Share of a period by which the loop starts before its fundamental rises through the middle."""
    angle = float(np.angle(fundamental))  # x ~ cos(phase + angle): rises through zero at phase = -pi/2 - angle
    return ((-0.5 * np.pi - angle) / (2 * np.pi)) % 1.0


def _rotate(force: Array, shift: float) -> Array:
    """Each cycle begun `shift` periods later; the part before that is closed with the same cycle's beginning."""
    place = (np.arange(POINTS) + shift * POINTS) % POINTS
    left = np.floor(place).astype(np.intp) % POINTS
    part = place - np.floor(place)
    return np.asarray(force[:, left] * (1 - part) + force[:, (left + 1) % POINTS] * part)
