"""What a workshop can change in a valve, as ratios to what is in the unit now."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Literal

import numpy as np

from dampkit.damper.valve import PARAMETERS, Valve
from dampkit.frozen import frozen
from dampkit.quantities import Array

Lever = Literal["bleed", "preload", "spring", "leak"]
Move = Literal["bleed", "preload", "spring", "stack", "leak"]  # what is moved: a stack is preload and spring in one
# 95 % of how far the work may miss the ratio asked for: a drilled hole's area times its discharge coefficient, a
# preload set by shims or turns, a spring's rate, an oil's viscosity. Common practice, no source.
WORKMANSHIP: dict[Lever, float] = {"bleed": 0.08, "preload": 0.05, "spring": 0.06, "leak": 0.10}


@frozen
class Ratios:
    """New over old: bleed area, force at which the blow-off opens, rate of its spring, flow past the clearances."""

    bleed: float = 1.0
    preload: float = 1.0
    spring: float = 1.0
    leak: float = 1.0

    def times(self, lever: Lever, factor: float) -> Ratios:
        """With one lever moved on by a factor."""
        return replace(self, **{lever: getattr(self, lever) * factor})


def ratios_of(moves: Mapping[Move, float]) -> Ratios:
    """Ratios for what is moved. A stack under a fixed dish opens at a force, and lifts at a rate, in proportion to its
    bending rate. Source: own."""
    stack = moves.get("stack", 1.0)
    return Ratios(
        moves.get("bleed", 1.0),
        stack * moves.get("preload", 1.0),
        stack * moves.get("spring", 1.0),
        moves.get("leak", 1.0),
    )


def ratio_of(ratios: Ratios, move: Move) -> float:
    """New over old of one thing that is moved."""
    value: float = getattr(ratios, "spring" if move == "stack" else move)
    return value


def changed(valve: Valve, ratios: Ratios) -> Valve:
    """The valve with its parts changed; everything else, losses included, stays.

    Bleed speed goes with hole area, the opening force with preload, lift over excess force with one over the spring
    rate, leak with one over the viscosity. A seat lets go over so much lift, so that the knee goes with the rate, too.
    Source: [merritt1967] ch. 3; lift in proportion to excess pressure; own for the knee.
    """
    return replace(
        valve,
        bleed=valve.bleed * ratios.bleed,
        blowoff_force=valve.blowoff_force * ratios.preload,
        lift_rate=valve.lift_rate / ratios.spring**valve.exponent,
        knee_n=valve.knee_n * ratios.spring,
        leak=valve.leak * ratios.leak,
    )


def by_logarithm(valve: Valve, move: Move) -> Array:
    """What the logarithm of a move's ratio adds to each of the valve's PARAMETERS, by `changed`; shape (8,)."""
    moves: dict[Move, dict[str, float]] = {
        "bleed": {"bleed": valve.bleed},
        "preload": {"blowoff_force": valve.blowoff_force if math.isfinite(valve.blowoff_force) else 0.0},
        "spring": {"lift_rate": -valve.exponent * valve.lift_rate, "knee_n": valve.knee_n},
        "leak": {"leak": valve.leak},
    }
    adds = moves["preload"] | moves["spring"] if move == "stack" else moves[move]
    return np.array([adds.get(name, 0.0) for name in PARAMETERS])


def side_by_side(valves: Sequence[Valve], ndim: int) -> Valve:
    """Changes of one valve as columns beside speeds of so many dimensions."""
    shape = (len(valves), *(1,) * ndim)
    names = ("leak", "bleed", "blowoff_force", "lift_rate", "knee_n")
    return valves[0].columns(**{name: np.reshape([getattr(v, name) for v in valves], shape) for name in names})
