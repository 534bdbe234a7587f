"""Made-up benches for the curves: a motion and a force law, nothing of the damper plant."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from dampkit.bench.run import Run
from dampkit.quantities import Array, read_only

Law = Callable[[Array, Array], Array]


def sine_run(
    law: Law,
    stages: tuple[tuple[float, float, int], ...],
    *,
    rate_hz: float = 1000.0,
    dwell_s: float = 0.4,
    noise_mm: float = 0.0,
    noise_n: float = 0.0,
    second_harmonic: float = 0.0,
    seed: int = 1,
) -> Run:
    """Stages (stroke m, frequency Hz, cycles) from mid-stroke, dwells between; force from law(displacement, velocity)."""
    rng = np.random.default_rng(seed)
    x, v = [np.zeros(round(dwell_s * rate_hz))], [np.zeros(round(dwell_s * rate_hz))]
    for stroke, frequency, cycles in stages:
        t = np.arange(round(cycles / frequency * rate_hz)) / rate_hz
        w = 2 * np.pi * frequency
        h = second_harmonic
        x.append(0.5 * stroke * (np.sin(w * t) + h * (1 - np.cos(2 * w * t))))
        v.append(0.5 * stroke * w * (np.cos(w * t) + 2 * h * np.sin(2 * w * t)))
        x.append(np.zeros(round(dwell_s * rate_hz)))
        v.append(np.zeros(round(dwell_s * rate_hz)))
    place, speed = np.concatenate(x), np.concatenate(v)
    force = law(place, speed) + rng.normal(0, noise_n, place.size)
    place = place + rng.normal(0, 1e-3 * noise_mm, place.size)
    time = np.arange(place.size) / rate_hz
    return Run("made-up", "0" * 64, place.size, read_only(time), read_only(place), read_only(force), zero_known=True)
