"""Periodic motion as a sum of harmonics."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from dampkit.quantities import Array, read_only


@dataclass(frozen=True)
class Periodic:
    """x(t) = mean + sum of cosines and sines of the first H harmonics, time counted from `origin_s`."""

    frequency_hz: float
    origin_s: float
    mean_m: float
    cosines_m: Array  # shape (H,)
    sines_m: Array  # shape (H,)

    def at(self, time_s: Array) -> Array:
        """Displacement at the times given, same shape."""
        return _columns(time_s - self.origin_s, self.frequency_hz, self.cosines_m.size) @ self._coefficients()

    @property
    def stroke_m(self) -> float:
        """Peak to peak."""
        return float(np.ptp(self.at(self.origin_s + np.linspace(0, 1 / self.frequency_hz, 400))))

    @property
    def peak_speed_m_s(self) -> float:
        """Of the fundamental."""
        return float(2 * np.pi * self.frequency_hz * np.hypot(self.cosines_m[0], self.sines_m[0]))

    def _coefficients(self) -> Array:
        return np.concatenate([[self.mean_m], self.cosines_m, self.sines_m])


def _columns(t: Array, frequency_hz: float, harmonics: int) -> Array:
    angle = 2 * np.pi * frequency_hz * t[:, None] * np.arange(1, harmonics + 1)
    return np.hstack([np.ones((t.size, 1)), np.cos(angle), np.sin(angle)])


def fit_periodic(
    time_s: Array, displacement_m: Array, frequency_hz: float, harmonics: int, rounds: int = 4
) -> Periodic:
    """Least squares for the harmonics and the frequency (Gauss-Newton on the frequency).

    time_s, displacement_m: shape (N,). `frequency_hz` is the first guess, good to a few percent.
    Source: own; the four-parameter sine fit of IEEE Std 1057 with harmonics added.
    """
    origin = float(time_s.mean())
    t = time_s - origin
    span = float(np.ptp(t))
    f = frequency_hz
    for _ in range(rounds):
        base = _columns(t, f, harmonics)
        coefficients = np.linalg.lstsq(base, displacement_m, rcond=None)[0]
        c, s = coefficients[1 : 1 + harmonics], coefficients[1 + harmonics :]
        order = np.arange(1, harmonics + 1)
        slope = 2 * np.pi * t * (base[:, 1 : 1 + harmonics] @ (order * s) - base[:, 1 + harmonics :] @ (order * c))
        wide = np.column_stack([base, slope])
        change = float(np.linalg.lstsq(wide, displacement_m, rcond=None)[0][-1])
        f += float(np.clip(change, -0.05 * f, 0.05 * f))
        if abs(change) * span < 1e-6:
            break
    solved = read_only(np.linalg.lstsq(_columns(t, f, harmonics), displacement_m, rcond=None)[0])
    return Periodic(f, origin, float(solved[0]), solved[1 : 1 + harmonics], solved[1 + harmonics :])
