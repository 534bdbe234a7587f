"""Friction place by place over the stroke, from the slow pass."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from dampkit.curves.loop import Loop
from dampkit.damper.fitted import DamperFit
from dampkit.quantities import Array

INSIDE = 0.8  # of the half-stroke: the ends hold the take-up after a reversal
PLACES = 61
BLUR = 3  # places averaged


@dataclass(frozen=True)
class StrokeFriction:
    """Resisting force on the way out and the way in at equal places, gas and the valve's part taken out; shape (61,)."""

    place_m: Array
    out_n: Array
    back_n: Array

    @property
    def both_n(self) -> Array:
        """Friction: the mean of out and in, which gas and zero do not enter."""
        return 0.5 * (self.out_n + self.back_n)


def stroke_friction(loop: Loop, damper: DamperFit) -> StrokeFriction:
    """Friction over the stroke of a slow pass. Source: own; half of out less in at each place."""
    gas = 0.0 if damper.gas_force_n is None else damper.gas_force_n.value
    force = loop.mean_force_n + gas - (damper.gas_stiffness_n_m or 0.0) * loop.displacement_m
    middle = 0.5 * float(loop.displacement_m.max() + loop.displacement_m.min())
    places = middle + INSIDE * 0.5 * float(np.ptp(loop.displacement_m)) * np.linspace(-1, 1, PLACES)
    ways = []
    for sign, fit in ((1.0, damper.rebound), (-1.0, damper.compression)):
        rows = sign * loop.velocity_m_s > 0
        valve = 0.0 if fit is None else fit.valve.force(np.abs(loop.velocity_m_s[rows]))
        order = np.argsort(loop.displacement_m[rows])
        resisting = (sign * force[rows] - valve)[order]
        ways.append(_blurred(np.interp(places, loop.displacement_m[rows][order], _running(resisting))))
    return StrokeFriction(places, ways[0], ways[1])


def _running(values: Array) -> Array:
    return np.convolve(np.pad(values, 2, mode="edge"), np.full(5, 0.2), mode="valid")


def _blurred(values: Array) -> Array:
    return np.convolve(np.pad(values, BLUR // 2, mode="edge"), np.full(BLUR, 1 / BLUR), mode="valid")
