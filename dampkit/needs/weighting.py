"""How much of a vertical acceleration is felt: frequency weighting Wk."""

from __future__ import annotations

import numpy as np

from dampkit.quantities import Array

# Corner frequencies and resonance factors of Wk [iso8041], [iso2631]
_BAND_LOW_HZ, _BAND_HIGH_HZ, _BAND_Q = 0.4, 100.0, 2**-0.5
_TRANSITION_HZ, _TRANSITION_Q = 12.5, 0.63
_STEP_LOW_HZ, _STEP_LOW_Q, _STEP_HIGH_HZ, _STEP_HIGH_Q = 2.37, 0.91, 3.35, 0.91

# Weighted acceleration at which a ride is felt to be so, m/s^2; the ranges overlap [iso2631] annex C
FELT = (
    (0.315, "not uncomfortable"),
    (0.63, "a little uncomfortable"),
    (1.0, "fairly uncomfortable"),
    (1.6, "uncomfortable"),
    (2.5, "very uncomfortable"),
)


def wk(frequency_hz: Array) -> Array:
    """Weighting factor at frequencies > 0, same shape. Source: [iso2631] table 3 by the filters of [iso8041]."""
    s = 2j * np.pi * frequency_hz

    def quadratic(hz: float, q: float) -> Array:
        w = 2 * np.pi * hz
        return np.asarray(1 + s / (q * w) + (s / w) ** 2)

    low, high = 2 * np.pi * _BAND_LOW_HZ, 2 * np.pi * _TRANSITION_HZ
    band = (s / low) ** 2 / quadratic(_BAND_LOW_HZ, _BAND_Q) / quadratic(_BAND_HIGH_HZ, _BAND_Q)
    transition = (1 + s / high) / quadratic(_TRANSITION_HZ, _TRANSITION_Q)
    step = quadratic(_STEP_LOW_HZ, _STEP_LOW_Q) / quadratic(_STEP_HIGH_HZ, _STEP_HIGH_Q)
    gain = (_STEP_LOW_HZ / _STEP_HIGH_HZ) ** 2
    return np.asarray(np.abs(gain * band * transition * step))


def weighted_rms_m_s2(acceleration_m_s2: Array, step_s: float) -> Array:
    """Root mean square of Wk-weighted acceleration, shape (cases,), from whole periods of shape (points, cases)."""
    points = acceleration_m_s2.shape[0]
    spectrum = np.abs(np.fft.rfft(acceleration_m_s2, axis=0)) / points
    frequency = np.asarray(np.fft.rfftfreq(points, step_s), dtype=np.float64)
    weight = np.zeros_like(frequency)
    weight[1:] = wk(frequency[1:])
    return np.asarray(np.sqrt(2 * ((weight[:, None] * spectrum) ** 2).sum(axis=0)))


def felt_as(weighted_m_s2: float) -> str:
    """In words, by the lower end of each range. Source: [iso2631] annex C."""
    return next((words for limit, words in FELT if weighted_m_s2 < limit), "extremely uncomfortable")
