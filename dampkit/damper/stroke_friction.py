"""Friction place by place over the stroke, from the slow pass."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from dampkit.curves.loop import Loop
from dampkit.damper.take_up import hydraulic_n
from dampkit.damper.unit import Unit
from dampkit.frozen import frozen
from dampkit.quantities import DIRECTIONS, SIGN, Array

INSIDE = 0.8  # of the half-stroke: the ends hold the take-up after a reversal
PLACES = 61
BLUR = 3  # places averaged


@frozen
class StrokeFriction:
    """Resisting force on the way out and the way in at equal places, gas and the valve's part taken out; shape (61,)."""

    place_m: Array
    out_n: Array
    back_n: Array

    @property
    def both_n(self) -> Array:
        """Friction: the mean of out and in, which gas and zero do not enter."""
        return 0.5 * (self.out_n + self.back_n)


def stroke_friction(loop: Loop, unit: Unit) -> StrokeFriction:
    """Friction over the stroke of a slow pass. Source: own; half of out less in at each place."""
    taken = replace(unit.taken_out, friction_n=0.0)
    middle = 0.5 * float(loop.displacement_m.max() + loop.displacement_m.min())
    places = middle + INSIDE * 0.5 * float(np.ptp(loop.displacement_m)) * np.linspace(-1, 1, PLACES)
    ways = []
    for direction in DIRECTIONS:
        law = unit.side(direction).law
        rows = SIGN[direction] * loop.velocity_m_s > 0
        valve = 0.0 if law is None else law.valve.force(np.abs(loop.velocity_m_s[rows]))
        order = np.argsort(loop.displacement_m[rows])
        resisting = (hydraulic_n(loop, taken, direction)[rows] - valve)[order]
        ways.append(_blurred(np.interp(places, loop.displacement_m[rows][order], _running(resisting))))
    return StrokeFriction(places, ways[0], ways[1])


def _running(values: Array) -> Array:
    return np.convolve(np.pad(values, 2, mode="edge"), np.full(5, 0.2), mode="valid")


def _blurred(values: Array) -> Array:
    return np.convolve(np.pad(values, BLUR // 2, mode="edge"), np.full(BLUR, 1 / BLUR), mode="valid")
