"""More than one corner: a beam axle that hops and tramps, a car that bounces and pitches."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from dampkit.needs.corner import Corner


@dataclass(frozen=True)
class BeamAxle:
    """Two wheels on one beam. `corner` is one side; spacings are between left and right.

    `roll_inertia_kg_m2` is of the beam with its wheels about the car's length axis.
    """

    corner: Corner
    track_m: float
    spring_spacing_m: float
    damper_spacing_m: float
    roll_inertia_kg_m2: float

    def tramp_frequency_hz(self) -> float:
        """The beam rocking, one wheel up and one down, body held still.

        Each pair of rates k at a spacing s resists rocking with k s^2/2. Source: [gillespie1992] ch. 5.
        """
        return math.sqrt(self._roll_rate() / self.roll_inertia_kg_m2) / (2 * math.pi)

    def tramp_ratio(self, wheel_damping_n_s_m: float) -> float:
        """Damping ratio of tramp for a coefficient of each damper as felt at its own place on the beam."""
        damping = 0.5 * wheel_damping_n_s_m * self.damper_spacing_m**2
        return damping / (2 * math.sqrt(self._roll_rate() * self.roll_inertia_kg_m2))

    def share_in_tramp(self, spacing_m: float) -> float:
        """How much of a rate or damper is left in rocking: the square of spacing over track."""
        return (spacing_m / self.track_m) ** 2

    def _roll_rate(self) -> float:
        tyre = self.corner.tyre_rate_n_m * self.track_m**2
        spring = self.corner.wheel_rate_n_m * self.spring_spacing_m**2
        return 0.5 * (tyre + spring)


@dataclass(frozen=True)
class BouncePitch:
    """Undamped motions of the body on its front and rear rides. Nodes are metres ahead of the centre of mass."""

    frequency_hz: tuple[float, float]
    node_m: tuple[float, float]


def bounce_and_pitch(
    mass_kg: float, gyration_m: float, front_rate_n_m: float, rear_rate_n_m: float, arms_m: tuple[float, float]
) -> BouncePitch:
    """The two motions, slower first. Rates are of both wheels together; `arms_m` front and rear, from the centre of mass.

    Source: [gillespie1992] ch. 5.
    """
    front, rear = arms_m
    cross = rear_rate_n_m * rear - front_rate_n_m * front
    stiffness = np.array(
        [
            [front_rate_n_m + rear_rate_n_m, cross],
            [cross, front_rate_n_m * front**2 + rear_rate_n_m * rear**2],
        ]
    )
    inertia = mass_kg * np.array([1.0, gyration_m**2])
    root = 1 / np.sqrt(inertia)
    squares, shapes = np.linalg.eigh(root[:, None] * stiffness * root)
    lift, turn = root[:, None] * shapes  # body height, and nose-down angle
    with np.errstate(divide="ignore"):
        nodes = lift / turn
    hertz = np.sqrt(squares) / (2 * math.pi)
    return BouncePitch((float(hertz[0]), float(hertz[1])), (float(nodes[0]), float(nodes[1])))
