"""One period of a measured motion: its harmonics where they fall off fast, local slopes where they do not."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from dampkit.frozen import frozen
from dampkit.quantities import Array, median, medians, quantiles

HIGHEST = 64  # harmonic considered, where there are rows enough:
ROWS_A_HARMONIC = 6  # rows a cycle that each harmonic asks for
ABOVE_NOISE = 4.0  # a harmonic is kept where it is so many times the noise in one
CHANCE = 3.0  # standard deviations by which their power is more than noise makes
TAIL, MUCH = 0.003, 0.03  # of the fundamental's speed: what the octave of harmonics above the kept ones may hold
SEEN, SEVERAL = 2.0, 3  # times the noise, and how many of them are so large: a series that falls off leaves one or two
ROWS_A_WAVE = 3  # a harmonic with fewer rows a wave cannot be seen
WINDOWS = (1 / 256, 1 / 180, 1 / 128, 1 / 90, 1 / 64, 1 / 45, 1 / 32, 1 / 22, 1 / 16)  # half-widths, in periods
ROWS_A_WINDOW = 2  # the narrowest window holds so many rows of a cycle
SURE = 4.0  # standard errors within which the speeds by a wider window agree ...
AGREES = 0.001  # ... or this share of the top speed
NEIGHBOURS = 1 / 128  # of a period to both sides over which the choice of a window is made one, by the median
RAYLEIGH = 0.5364  # lower quartile of a Rayleigh distribution over its root mean square, (ln 4/3)^1/2
Spectrum = npt.NDArray[np.complex128]


@frozen
class Period:
    """One period, shape (P,), equal time steps. Velocity and acceleration with the period as unit of time.

    `harmonics`: the highest that counts. `window`: half-width, in periods, over which speeds are slopes (the median of
    them); 0 where they are the exact derivative of the harmonics.
    """

    place_m: Array
    velocity_m: Array
    acceleration_m: Array
    harmonics: int
    window: float


def one_period(place_m: Array, rows_a_cycle: float, least_noise_m: float = 0.0) -> tuple[Period, ...]:
    """Displacement, velocity and acceleration over one period, from a mean over the cycles at P equal steps.

    Two of them, by harmonics and by slopes, where the rows are too few to tell which; the rows themselves may (`fold`).
    `least_noise_m`: least standard deviation of one of these, as from the resolution.
    The harmonics that are above the noise are kept and velocity is their exact derivative, if they fall off fast: if
    the octave above them holds no more speed than `TAIL` of the fundamental's, or noise. If they do not (corners:
    a triangle, a dwell), a series would swing about the corners, and velocity is the slope of a straight line over a
    window that moves along: its weights on the true velocity are all positive, so it cannot swing, and where speed is
    constant it is exact. The window is, point by point, the widest whose slope agrees with those of all narrower ones.
    Source: own; the window by the rule of Lepski 1991, from memory.
    """
    spectrum = np.fft.rfft(place_m) / place_m.size
    size = np.abs(spectrum)
    highest = int(min(HIGHEST, max(1, rows_a_cycle / ROWS_A_HARMONIC)))
    beyond = size[highest : max(highest + 1, int(min(place_m.size, 0.8 * rows_a_cycle) / 2))]
    noise = max(float(quantiles(beyond, [0.25])[0]) / RAYLEIGH, least_noise_m / float(np.sqrt(place_m.size)))
    keep = size > ABOVE_NOISE * noise
    keep[highest + 1 :] = False
    keep[:2] = True
    turn = 2j * np.pi * np.arange(size.size)
    x, v, a = (np.fft.irfft(np.where(keep, spectrum, 0) * turn**k * place_m.size, place_m.size) for k in range(3))
    series = Period(x, v, a, int(np.flatnonzero(keep)[-1]), 0.0)
    first = 2 * int(np.count_nonzero(keep[1:])) + 1  # twice as many, as even ones may be missing
    last = int(min(rows_a_cycle / ROWS_A_WAVE, size.size))
    short, falls = (_falls_off(size, noise, begin, last) for begin in (min(first, highest + 1), first))
    if short and falls:
        return (series,)
    slopes = _by_slopes(place_m, spectrum, noise, rows_a_cycle)
    return (series, slopes) if falls else (slopes,)


def _falls_off(size: Array, noise: float, first: int, last: int) -> bool:
    """Whether the octave of harmonics from `first` on, up to `last`, holds no more speed than noise, or than a little."""
    octave = np.arange(first, max(first, min(2 * first, last)))
    power = float(np.sum(octave**2 * (size[octave] ** 2 - noise**2)))
    by_chance = CHANCE * noise**2 * float(np.sqrt(np.sum(octave.astype(np.float64) ** 4)))
    several = np.count_nonzero(size[octave] > SEEN * noise) >= SEVERAL or power > (MUCH * size[1]) ** 2
    return not (several and power > max(by_chance, (TAIL * size[1]) ** 2))


def _by_slopes(place_m: Array, spectrum: Spectrum, noise: float, rows_a_cycle: float) -> Period:
    points = place_m.size
    windows = [w for w in WINDOWS if 2 * w * rows_a_cycle > ROWS_A_WINDOW] or [WINDOWS[-1]]
    slopes = np.stack([_slope(place_m, w) for w in windows])
    errors = noise * np.sqrt(points) * np.array([_slope_error(points, w) for w in windows])
    slack = AGREES * 4 * np.pi * float(np.abs(spectrum[1]))
    widest = np.zeros(points, dtype=np.intp)
    agree = np.ones(points, dtype=bool)
    for i in range(1, len(windows)):
        agree &= (np.abs(slopes[i] - slopes[:i]) < SURE * errors[:i, None] + slack).all(axis=0)
        widest[agree] = i
    reach = int(NEIGHBOURS * points)
    around = (np.arange(points)[:, None] + np.arange(-reach, reach + 1)) % points
    widest = medians(widest[around]).astype(np.intp)
    v = slopes[widest, np.arange(points)]
    sure = v[widest >= median(widest)]
    v = np.clip(v, sure.min(), sure.max())  # beside corners, where windows are narrow, noise makes the top speed
    v -= v.mean()
    turned = np.fft.rfft(v)
    turned[1:] /= 2j * np.pi * np.arange(1, turned.size)
    turned[0] = spectrum[0].real * points
    window = median(np.array(windows)[widest])
    return Period(np.fft.irfft(turned, points), v, _slope(v, window), int(0.5 / window), window)


def _slope(values: Array, window: float) -> Array:
    """Slope, round a closed period, of the line through the points within a window about each point."""
    reach = max(1, round(window * values.size))
    off = np.arange(-reach, reach + 1)
    kernel = np.zeros(values.size)
    kernel[-off] = off * values.size / np.sum(off**2)
    return np.fft.irfft(np.fft.rfft(values) * np.fft.rfft(kernel), values.size)


def _slope_error(points: int, window: float) -> float:
    """Standard error of that slope where each point's is 1."""
    reach = max(1, round(window * points))
    return float(points / np.sqrt(2 * np.sum(np.arange(1, reach + 1) ** 2)))
