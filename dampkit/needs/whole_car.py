"""More than one corner: a beam axle that hops and tramps, a car that bounces and pitches, and the load that braking, driving
off and cornering move between its wheels, with the pitch and roll that dampers must catch."""

from __future__ import annotations

import math

import numpy as np

from dampkit.frozen import frozen
from dampkit.needs.corner import Corner
from dampkit.quantities import GRAVITY_M_S2


@frozen
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


@frozen
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


@frozen
class Swing:
    """One damped motion of the body."""

    frequency_hz: float
    ratio: float

    @property
    def overshoot_ratio(self) -> float:
        """How far past its new place it swings, as a share of the change. Source: [rao] ch. 4 (step response)."""
        return math.exp(-math.pi * self.ratio / math.sqrt(1 - self.ratio**2)) if self.ratio < 1 else 0.0

    @property
    def settle_s(self) -> float:
        """Until within 5 % of its new place: 3/(zeta omega), for a ratio well below 1. Source: [rao] ch. 4."""
        return 3 / (self.ratio * 2 * math.pi * self.frequency_hz)


@frozen
class WholeCar:
    """The car on its four corners. Rates at each wheel; dampers' coefficients at each wheel; front, then rear.

    Inertia of pitch is about the centre of mass, of roll about the car's length axis.
    """

    mass_kg: float
    wheelbase_m: float
    centre_height_m: float
    track_m: float
    front_share_ratio: float
    wheel_rates_n_m: tuple[float, float]
    pitch_inertia_kg_m2: float
    roll_inertia_kg_m2: float

    @property
    def arms_m(self) -> tuple[float, float]:
        """From the centre of mass to the front and to the rear axle."""
        return (1 - self.front_share_ratio) * self.wheelbase_m, self.front_share_ratio * self.wheelbase_m

    def moved_along_n(self, acceleration_m_s2: float) -> float:
        """Load that goes from one axle to the other: m a h/L. Source: [gillespie1992] ch. 1."""
        return self.mass_kg * acceleration_m_s2 * self.centre_height_m / self.wheelbase_m

    def moved_across_n(self, acceleration_m_s2: float) -> float:
        """Load that goes from the inner to the outer wheels of both axles: m a h/t. Source: [gillespie1992] ch. 6."""
        return self.mass_kg * acceleration_m_s2 * self.centre_height_m / self.track_m

    def pitch_angle_rad(self, acceleration_m_s2: float) -> float:
        """Steady nose dive or squat on the springs alone, linkage that resists it left out: m a h/K."""
        return self.mass_kg * acceleration_m_s2 * self.centre_height_m / self._pitch(self.wheel_rates_n_m)

    def roll_angle_rad(self, acceleration_m_s2: float) -> float:
        """Steady roll on the springs alone, roll bars and the height of the roll axis left out: m a h/(K - m g h).

        Source: [gillespie1992] ch. 6.
        """
        tipping = self.mass_kg * self.centre_height_m
        stiffness = self._roll(self.wheel_rates_n_m) - tipping * GRAVITY_M_S2
        return tipping * acceleration_m_s2 / stiffness if stiffness > 0 else math.inf

    def pitch(self, damping_n_s_m: tuple[float, float]) -> Swing:
        return _swing(self._pitch(self.wheel_rates_n_m), self._pitch(damping_n_s_m), self.pitch_inertia_kg_m2)

    def roll(self, damping_n_s_m: tuple[float, float]) -> Swing:
        return _swing(self._roll(self.wheel_rates_n_m), self._roll(damping_n_s_m), self.roll_inertia_kg_m2)

    def _pitch(self, each: tuple[float, float]) -> float:
        front, rear = self.arms_m
        return 2 * (each[0] * front**2 + each[1] * rear**2)

    def _roll(self, each: tuple[float, float]) -> float:
        return 0.5 * (each[0] + each[1]) * self.track_m**2


def _swing(stiffness: float, damping: float, inertia: float) -> Swing:
    """One mass on one spring and damper. Source: [rao] ch. 2."""
    return Swing(math.sqrt(stiffness / inertia) / (2 * math.pi), damping / (2 * math.sqrt(stiffness * inertia)))
