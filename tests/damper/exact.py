"""Loops made by the fit's own model, so that model and noise are exact."""

from __future__ import annotations

import numpy as np

from dampkit.curves.loop import Loop, Stage
from dampkit.damper.model import Model
from dampkit.damper.points import Points, joined, loop_points
from dampkit.quantities import Array

TRUTH = {
    "gas_n": 60.0,
    "gas_n_m": 400.0,
    "friction_n": 25.0,
    "rebound.leak": 2e-5,
    "rebound.bleed": 0.005,
    "rebound.blowoff_force": 600.0,
    "rebound.lift_rate": 2e-5,
    "rebound.knee_n": 12.0,
    "compression.leak": 3e-5,
    "compression.bleed": 0.006,
    "compression.blowoff_force": 250.0,
    "compression.lift_rate": 6e-5,
    "compression.knee_n": 6.0,
}
MODEL = Model(tuple(TRUTH), {"friction_speed_m_s": 0.003})
SPEEDS = (0.005, 0.05, 0.1, 0.2, 0.3, 0.5, 0.75, 1.0)
P = np.array(list(TRUTH.values()))


def loops(noise_n: float, rng: np.random.Generator, cycles: int = 4) -> tuple[Loop, ...]:
    """One loop a speed, each cycle with its own noise."""
    out = []
    angle = 2 * np.pi * np.arange(512) / 512
    for index, speed in enumerate(SPEEDS):
        frequency = speed / (np.pi * 0.05)
        omega = 2 * np.pi * frequency
        x, v, a = 0.025 * np.sin(angle), speed * np.cos(angle), -speed * omega * np.sin(angle)
        stage = Stage(index, 0, 512 * cycles, frequency, cycles, 0.05)
        blank = Loop(stage, x, v, a, np.zeros((1, 512)), 1)
        force = MODEL.force(P, loop_points(blank, 0.0))
        out.append(Loop(stage, x, v, a, force + rng.normal(0, noise_n, (cycles, 512)), 1))
    return tuple(out)


def all_points(made: tuple[Loop, ...]) -> Points:
    return joined([loop_points(loop, 0.0) for loop in made])


def covariance_bound(points: Points, sigma_n: float) -> Array:
    """Cramer-Rao: inverse of the information on the parameters under white noise of the points."""
    j = MODEL.jacobian(P, points) / sigma_n
    return np.asarray(np.linalg.inv(j.T @ j))
