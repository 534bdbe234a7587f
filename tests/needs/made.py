"""Loops with a known answer, made from a force law."""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np

from dampkit.curves.loop import Loop, Stage
from dampkit.needs.corner import Corner
from dampkit.quantities import Array

POINTS = 512
Law = Callable[[Array, Array], Array]  # force in tension from displacement and velocity

BARTON = Corner("book car", 317.5, 45.4, 22e3, 192e3, 1.0)  # [barton2018] sec. 3.13
SALOON = Corner("made up", 380.0, 42.0, 30e3, 200e3, 0.8, target_ratio=0.28, rebound_share_ratio=0.7)


def sine_loop(law: Law, peak_m_s: float, half_stroke_m: float = 0.025, cycles: int = 4, noise_n: float = 0.0) -> Loop:
    """A sine stage; with `noise_n` each cycle is scaled by its own random share of about noise_n percent."""
    omega = peak_m_s / half_stroke_m
    phase = 2 * np.pi * np.arange(POINTS) / POINTS
    x, v = half_stroke_m * np.sin(phase), peak_m_s * np.cos(phase)
    scale = 1 + 0.01 * noise_n * np.random.default_rng(3).standard_normal(cycles)
    force = scale[:, None] * law(x, v)
    stage = Stage(0, 0, POINTS * cycles, omega / (2 * np.pi), cycles, 2 * half_stroke_m)
    return Loop(stage, x, v, -(omega**2) * x, force, 1)


def crank_loop(law: Law, speed_rad_s: float, crank_m: float = 0.025, rod_m: float = 0.1) -> Loop:
    """A slider-crank stage, with the second harmonic that the connecting rod adds."""
    angle = 2 * np.pi * np.arange(POINTS) / POINTS
    root = np.sqrt(rod_m**2 - (crank_m * np.sin(angle)) ** 2)
    x = crank_m * np.cos(angle) + root - rod_m
    v = speed_rad_s * (-crank_m * np.sin(angle) - crank_m**2 * np.sin(angle) * np.cos(angle) / root)
    stage = Stage(0, 0, POINTS, speed_rad_s / (2 * np.pi), 1, 2 * crank_m)
    return Loop(stage, x, v, np.gradient(v), law(x, v)[None, :], 8)


def log_decrement(first: float, later: float, swings: float) -> float:
    """ln(first/later) over the number of whole swings between them; half swings count 0.5. Source: [rao] ch. 2."""
    return math.log(first / later) / swings


def ratio_from_decrement(decrement: float) -> float:
    """Damping ratio delta / sqrt(4 pi^2 + delta^2), for viscous damping. Source: [rao] ch. 2."""
    return decrement / math.hypot(2 * math.pi, decrement)
