"""One corner of a vehicle in SI: masses, rates, motion ratio, and what follows from them without any damper."""

from __future__ import annotations

import math

import numpy as np

from dampkit.frozen import frozen
from dampkit.quantities import GRAVITY_M_S2, Array

N_M_PER_N_MM = 1000.0


@frozen
class Modes:
    """The two motions of a corner. Frequencies are undamped natural ones, |eigenvalue|/2 pi; ratios are of critical."""

    body_frequency_hz: float
    body_ratio: float
    wheel_frequency_hz: float
    wheel_ratio: float


@frozen
class Corner:
    """Everything at the wheel, except where a name says damper.

    `motion_ratio` is damper travel per wheel travel. The wheel rate (spring felt at the wheel, tyre left out) goes
    into critical damping and static deflection; the tyre comes in only in the two-mass modes and the ride rate.
    """

    name: str
    sprung_mass_kg: float
    unsprung_mass_kg: float
    wheel_rate_n_m: float
    tyre_rate_n_m: float
    motion_ratio: float
    target_ratio: float | None = None
    rebound_share_ratio: float | None = None
    spring_friction_n: float = 0.0  # dry friction of the spring, half-width of its load loop

    @property
    def critical_damping_n_s_m(self) -> float:
        """2 sqrt(k_wheel m_sprung), at the wheel, the wheel held still. Source: [rao] ch. 2."""
        return 2 * math.sqrt(self.wheel_rate_n_m * self.sprung_mass_kg)

    @property
    def static_deflection_m(self) -> float:
        """m g / k_wheel: for a spring that is straight through zero. Source: [gillespie1992] ch. 5."""
        return self.sprung_mass_kg * GRAVITY_M_S2 / self.wheel_rate_n_m

    @property
    def static_tyre_load_n(self) -> float:
        return (self.sprung_mass_kg + self.unsprung_mass_kg) * GRAVITY_M_S2

    @property
    def ride_rate_n_m(self) -> float:
        """Wheel rate and tyre rate in series. Source: [gillespie1992] ch. 5."""
        return self.wheel_rate_n_m * self.tyre_rate_n_m / (self.wheel_rate_n_m + self.tyre_rate_n_m)

    def at_wheel(self, damper_damping_n_s_m: float) -> float:
        """Damping coefficient at the wheel, N s/m: c R^2. Source: [dixon2007] (motion ratio)."""
        return damper_damping_n_s_m * self.motion_ratio**2

    def at_damper(self, wheel_damping_n_s_m: float) -> float:
        """Damping coefficient at the damper, N s/m: c / R^2."""
        return wheel_damping_n_s_m / self.motion_ratio**2

    def state_matrix(self, wheel_damping_n_s_m: float) -> Array:
        """A of dx/dt = A x with x = (body, wheel, body speed, wheel speed), shape (4, 4)."""
        k, c, kt = self.wheel_rate_n_m, wheel_damping_n_s_m, self.tyre_rate_n_m
        ms, mu = self.sprung_mass_kg, self.unsprung_mass_kg
        return np.array(
            [
                [0, 0, 1, 0],
                [0, 0, 0, 1],
                [-k / ms, k / ms, -c / ms, c / ms],
                [k / mu, -(k + kt) / mu, c / mu, -c / mu],
            ],
            dtype=np.float64,
        )

    def modes(self, wheel_damping_n_s_m: float = 0.0) -> Modes:
        """Body and wheel motion from the eigenvalues of the two-mass corner. Source: [barton2018] sec. 3.13.

        With damping above critical the pair of real eigenvalues counts as one motion, ratio above 1.
        """
        roots = np.linalg.eigvals(self.state_matrix(wheel_damping_n_s_m)).astype(np.complex128)
        swinging = roots[roots.imag > 1e-9 * np.abs(roots)]
        creeping = np.sort(np.abs(roots[np.abs(roots.imag) <= 1e-9 * np.abs(roots)]))
        pairs = [(abs(z), -z.real / abs(z)) for z in swinging]
        pairs += [(math.sqrt(a * b), (a + b) / (2 * math.sqrt(a * b))) for a, b in creeping.reshape(-1, 2)]
        (body_w, body_zeta), (wheel_w, wheel_zeta) = sorted(pairs)
        turn = 2 * math.pi
        return Modes(float(body_w / turn), float(body_zeta), float(wheel_w / turn), float(wheel_zeta))
