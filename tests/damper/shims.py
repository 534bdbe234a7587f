"""Loops of a valve in closed form whose lift grows with a power of the force beyond its opening, as shim stacks' does."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.optimize import brentq

from dampkit.curves.loop import Loop, Stage
from dampkit.quantities import Array

SPEEDS = (0.005, 0.05, 0.1, 0.2, 0.3, 0.5, 0.75, 1.0)
TOP_M_S = 1.0
GAS_N, FRICTION_N, STROKE_M, POINTS = 80.0, 20.0, 0.05, 512


@dataclass(frozen=True)
class Stack:
    """v(F) = leak F + bleed sqrt(F) + lift (F - opens_n)^exponent sqrt(F), with `top_n` at TOP_M_S."""

    exponent: float
    opens_n: float
    top_n: float
    bleed: float
    leak: float = 2e-6

    @property
    def lift(self) -> float:
        shut = self.leak * self.top_n + self.bleed * self.top_n**0.5
        return float((TOP_M_S - shut) / self.top_n**0.5 / (self.top_n - self.opens_n) ** self.exponent)

    def velocity(self, force_n: float) -> float:
        opened = max(force_n - self.opens_n, 0.0) ** self.exponent
        return float(self.leak * force_n + (self.bleed + self.lift * opened) * force_n**0.5)

    def force(self, velocity_m_s: Array) -> Array:
        """By bracketing, point by point."""
        return np.array([brentq(lambda f, v=v: self.velocity(f) - v, 0.0, 4 * self.top_n) for v in velocity_m_s])


def rebound(exponent: float) -> Stack:
    return Stack(exponent, opens_n=500.0, top_n=1400.0, bleed=0.005)


def compression(exponent: float) -> Stack:
    return Stack(exponent, opens_n=220.0, top_n=620.0, bleed=0.006)


def loops(out: Stack, back: Stack, rng: np.random.Generator, noise_n: float = 2.0, cycles: int = 4) -> tuple[Loop, ...]:
    """One harmonic loop a speed; gas, Coulomb friction and the stacks, nothing else."""
    angle = 2 * np.pi * np.arange(POINTS) / POINTS
    made = []
    for index, speed in enumerate(SPEEDS):
        frequency = speed / (np.pi * STROKE_M)
        v = speed * np.cos(angle)
        force = -GAS_N + FRICTION_N * np.tanh(v / 3e-4)
        for stack, sign in ((out, 1.0), (back, -1.0)):
            rows = sign * v > 0
            force[rows] += sign * stack.force(np.abs(v[rows]))
        stage = Stage(index, 0, POINTS * cycles, frequency, cycles, STROKE_M)
        x, a = 0.5 * STROKE_M * np.sin(angle), -speed * 2 * np.pi * frequency * np.sin(angle)
        made.append(Loop(stage, x, v, a, force + rng.normal(0.0, noise_n, (cycles, POINTS)), 1))
    return tuple(made)
