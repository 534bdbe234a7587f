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
    """One, cosines, sines; shape (N, 1 + 2 H). Higher harmonics are powers of the first turn, cheaper than their own."""
    turn = np.exp(2j * np.pi * frequency_hz * t)
    out = np.ones((t.size, 1 + 2 * harmonics), order="F")
    power = turn
    for k in range(1, harmonics + 1):
        out[:, k], out[:, harmonics + k] = power.real, power.imag
        power = power * turn
    return out


def _solved(columns: Array, values: Array) -> Array:
    """Least squares by the normal equations of columns scaled to length one; the columns are sines, nearly at right angles."""
    scale = np.linalg.norm(columns, axis=0)
    scale[scale == 0] = 1.0
    normal = (columns.T @ columns) / np.outer(scale, scale)
    right = (columns.T @ values) / scale
    try:
        solved = np.linalg.solve(normal, right) / scale
    except np.linalg.LinAlgError:
        solved = np.linalg.lstsq(columns, values, rcond=None)[0]
    return np.asarray(solved)


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
    order = np.arange(1, harmonics + 1)
    for _ in range(rounds):
        base = _columns(t, f, harmonics)
        coefficients = _solved(base, displacement_m)
        c, s = coefficients[1 : 1 + harmonics], coefficients[1 + harmonics :]
        slope = 2 * np.pi * t * (base[:, 1 : 1 + harmonics] @ (order * s) - base[:, 1 + harmonics :] @ (order * c))
        change = float(_solved(np.column_stack([base, slope]), displacement_m)[-1])
        f += float(np.clip(change, -0.05 * f, 0.05 * f))
        if abs(change) * span < 1e-6:
            break
    solved = read_only(_solved(_columns(t, f, harmonics), displacement_m))
    return Periodic(f, origin, float(solved[0]), solved[1 : 1 + harmonics], solved[1 + harmonics :])
