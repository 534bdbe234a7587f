"""Roads: the ISO 8608 classes as a random profile, a kerb and a bump. Heights against time at a speed."""

from __future__ import annotations

import numpy as np

from dampkit.frozen import frozen
from dampkit.quantities import Array

REFERENCE_CYCLES_M = 0.1  # spatial frequency at which a class is named [iso8608]
LOWEST_CYCLES_M, HIGHEST_CYCLES_M = 0.01, 10.0  # range of use on roads [iso8608]
CLASSES = "ABCDEFGH"
START_S = 0.1  # on the level before a kerb or a bump
KERB_RISE_M = 0.10  # road length over which a kerb lifts the wheel: about a tyre's contact; common practice, no source


@frozen
class Road:
    """How rough and how fast; the default is a fair main road at 72 km/h."""

    road_class: str = "B"
    speed_m_s: float = 20.0
    seed: int = 1


FAIR_ROAD = Road()


def roughness_m3(road_class: str) -> float:
    """Gd(n0) of a class at its geometric mean, m^3: A 16e-6, four times more for each further one.

    Source: [iso8608] table C.1. Raises ValueError for anything but A to H.
    """
    if road_class not in CLASSES or len(road_class) != 1:
        raise ValueError(f"road class {road_class!r}; expected one of {', '.join(CLASSES)}")
    return 16e-6 * 4.0 ** CLASSES.index(road_class)


def height_density_m2_hz(frequency_hz: Array, gd0_m3: float, speed_m_s: float) -> Array:
    """One-sided density of the height under a wheel, same shape: Gd(n0) (n/n0)^-2 / v with n = f/v. Source: [iso8608].

    Zero outside the range of use, and at zero frequency.
    """
    n = frequency_hz / speed_m_s
    used = (n >= LOWEST_CYCLES_M) & (n <= HIGHEST_CYCLES_M)
    safe = np.where(used, n, 1.0)
    return np.asarray(np.where(used, gd0_m3 * (safe / REFERENCE_CYCLES_M) ** -2 / speed_m_s, 0.0))


def random_road_m(points: int, step_s: float, gd0_m3: float, speed_m_s: float, seed: int = 1) -> Array:
    """Heights at `points` times, m, shape (points,): periodic, sines of the class's size with random phases.

    As it repeats after points x step_s, a ride over one whole period has no leakage and no chance in its size.
    Source: own; the sum of sines for a given density is the usual one.
    """
    frequency = np.asarray(np.fft.rfftfreq(points, step_s), dtype=np.float64)
    size = np.sqrt(2 * height_density_m2_hz(frequency, gd0_m3, speed_m_s) * frequency[1])
    phase = np.random.default_rng(seed).uniform(0, 2 * np.pi, frequency.size)
    spectrum = 0.5 * points * size * np.exp(1j * phase)
    spectrum[0] = 0.0
    if points % 2 == 0:
        spectrum[-1] = 0.0
    return np.fft.irfft(spectrum, points)


def kerb_m(time_s: Array, height_m: float, speed_m_s: float) -> Array:
    """Up a kerb and along it, same shape: half a cosine over KERB_RISE_M, so that the tyre rolls up."""
    share = np.clip((time_s - START_S) * speed_m_s / KERB_RISE_M, 0.0, 1.0)
    return np.asarray(0.5 * height_m * (1 - np.cos(np.pi * share)))


def bump_m(time_s: Array, height_m: float, length_m: float, speed_m_s: float) -> Array:
    """Over half a sine of that length, same shape."""
    share = np.clip((time_s - START_S) * speed_m_s / length_m, 0.0, 1.0)
    return np.asarray(height_m * np.sin(np.pi * share))
