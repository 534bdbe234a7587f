"""What the rows themselves show about the bench: uneven time, a filter on one channel, and the cell (see `cell`)."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from dampkit.bench.cell import cell_checks
from dampkit.bench.clean import some_intervals
from dampkit.bench.run import Quality, Run
from dampkit.quantities import Array, median, number, quantiles

UNEVEN = 0.2  # spread of the row intervals over the usual one; common practice, no source
FILTER_ROWS = 16_384
FALLS_OFF = 0.1  # noise near the end of the band over noise in its lower part; white noise has 1
LOWER, UPPER = (0.03, 0.1), (0.35, 0.48)  # of the sample rate
HALF_POWER = 0.5
LEVEL = 4.0  # noise below the cut-off is level within this factor over an octave; a signal's own skirt falls more
OVER_MOTION = 10.0  # times the frequency of the motion: below that its harmonics are in the force
MOVES = 0.05  # share of the travel from which a stretch is no rest
OVER_STEP = 8.0  # times the noise that the channel's step alone makes


def with_row_checks(run: Run) -> Run:
    """The run with a remark for each flaw of the bench that its rows show."""
    filtered = _filtered(run)
    still = [q for q in cell_checks(run) if not (filtered and q.code == "force_held")]  # a filter makes equal readings
    found = [*still, *_uneven(run.time_s), *filtered]
    return replace(run, quality=(*run.quality, *found)) if found else run


def _uneven(time_s: Array) -> list[Quality]:
    """Row intervals that scatter by more than the last printed digit of the time explains."""
    low, usual, high = quantiles(some_intervals(time_s), [0.1, 0.5, 0.9])
    spread = float(high - low)
    if spread <= UNEVEN * usual or spread < 2.1 * _printed_step(time_s, usual):
        return []
    return [
        Quality(
            "time_uneven",
            "note",
            f"The rows come unevenly: eight in ten intervals lie between {1000 * low:.3g} and {1000 * high:.3g} ms."
            " The times in the log were used.",
        )
    ]


def _printed_step(time_s: Array, usual: float) -> float:
    """The decade step in which the times are written, as far as it could explain their spread; 0 if finer."""
    for step in 10.0 ** np.arange(0, -6, -1):
        few = time_s[:2000] / step
        if step < 10 * usual and float(np.abs(few - np.round(few)).max()) < 1e-3:
            return float(step)
    return 0.0


def _filtered(run: Run) -> list[Quality]:
    """Noise that dies away towards high frequencies in the force and not in the displacement: a filter on one side.

    Judged on the calmest stretch, where the signal itself changes little. Source: own, on Welch's averaged spectra.
    """
    rows = _calmest(run.force_n)
    force = _noise_spectrum(run.force_n[rows], run, run.force_resolution_n)
    if force is None or force[1] > FALLS_OFF or force[0] < OVER_MOTION * _motion_hz(run, rows):
        return []
    motion = _noise_spectrum(run.displacement_m[rows], run, run.displacement_resolution_m)
    if motion is not None and motion[1] < FALLS_OFF:
        return []
    cutoff_hz = force[0]
    late_ms = 1000 * np.sqrt(2) / (2 * np.pi * cutoff_hz)
    return [
        Quality(
            "force_filtered",
            "warning",
            f"The force alone looks filtered, from about {number(cutoff_hz, 2)} Hz: a filter of second order would make it"
            f" some {number(late_ms, 2)} ms late, round the reversals and hide lost motion."
            " Switch the filter off, or filter both channels alike.",
        )
    ]


def _calmest(force_n: Array) -> slice:
    """A stretch of rows in which the force changes least."""
    rows = min(FILTER_ROWS, force_n.size // 8)
    if rows < 64:
        return slice(0, 0)
    blocks = force_n.size // rows
    calm = np.ptp(force_n[: blocks * rows].reshape(blocks, rows), axis=1)
    start = int(np.argmin(calm)) * rows
    return slice(start, start + rows)


def _motion_hz(run: Run, rows: slice) -> float:
    """Frequency of the strongest part of the motion in a stretch; 0 at rest."""
    x = run.displacement_m[rows]
    if np.ptp(x) < MOVES * np.ptp(run.displacement_m):
        return 0.0
    strongest = int(np.argmax(np.abs(np.fft.rfft(x - x.mean()))))
    return strongest / (x.size * run.sample_interval_s)


def _noise_spectrum(values: Array, run: Run, step: float) -> tuple[float, float] | None:
    """Frequency [Hz] at which the noise has halved, and its fall from the lower to the upper part of the band.

    None where no noise stands out of the channel's step and of the skirt of the signal itself.
    """
    if values.size < 256 or not np.ptp(values) > 0:
        return None
    rate_hz = 1 / run.sample_interval_s
    frequency, power = averaged_spectrum(values, rate_hz, min(512, values.size // 4))

    def level(low_hz: float, high_hz: float) -> float:
        band = (frequency >= low_hz) & (frequency <= high_hz)
        return median(power[band]) if band.any() else 0.0

    lower, upper = (level(a * rate_hz, b * rate_hz) for a, b in (LOWER, UPPER))
    if lower * rate_hz / 2 <= OVER_STEP * step**2 / 12:
        return None
    plateau = level(0.5 * LOWER[0] * rate_hz, LOWER[0] * rate_hz)
    below = np.flatnonzero((frequency >= LOWER[0] * rate_hz) & (power < HALF_POWER * plateau))
    cutoff_hz = float(frequency[below[0]]) if below.size else rate_hz / 2
    if level(0.25 * cutoff_hz, 0.35 * cutoff_hz) > LEVEL * level(0.5 * cutoff_hz, 0.7 * cutoff_hz):
        return None
    return cutoff_hz, upper / lower


def averaged_spectrum(values: Array, rate_hz: float, rows: int) -> tuple[Array, Array]:
    """Frequencies [Hz] and power density, shape (rows // 2 + 1,): Hann windows of `rows` that overlap by half.

    A straight line through the whole is taken out first, then each stretch's mean. Source: Welch's averaged
    spectra, from memory; checked against scipy.signal.welch, which takes longer to import than a log to read.
    """
    places = np.arange(values.size)
    level = values - np.polyval(np.polyfit(places, values, 1), places)
    stretches = np.lib.stride_tricks.sliding_window_view(level, rows)[:: rows - rows // 2]
    window = 0.5 - 0.5 * np.cos(2 * np.pi * np.arange(rows) / rows)
    spectra = np.fft.rfft((stretches - stretches.mean(axis=1, keepdims=True)) * window, axis=1)
    power = np.mean(np.abs(spectra) ** 2, axis=0) / (rate_hz * float(window @ window))
    power[1 : (rows + 1) // 2] *= 2
    return np.asarray(np.arange(rows // 2 + 1) * (rate_hz / rows)), np.asarray(power, dtype=np.float64)
