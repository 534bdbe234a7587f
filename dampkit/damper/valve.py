"""The valve of one direction: flow as an explicit function of force, so force against speed is its inverse."""

from __future__ import annotations

from dataclasses import dataclass


from dampkit.quantities import Array

PARAMETERS = ("leak", "bleed", "blowoff_force", "blowoff_span", "open")


@dataclass(frozen=True)
class Valve:
    """v(F) = leak F + bleed sqrt(F) + open s sqrt(F), s = clip((F - blowoff_force) / blowoff_span, 0, 1).

    F hydraulic force [N], v piston speed [m/s], both magnitudes of one direction.
    leak [m/s/N]: laminar clearance. bleed, open [m/s/sqrt(N)]: turbulent orifices, the second fully lifted.
    `knee_n` rounds both corners of s over about so many newtons; 0 is sharp.
    The same law as flow against pressure drop with areas folded in (force = pressure drop times piston area).
    Source: [merritt1967] ch. 3 for the orifice and the clearance; the lift law is the usual one of a spring-loaded valve.
    """

    leak: float = 0.0
    bleed: float = 0.0
    blowoff_force: float | None = None
    blowoff_span: float = 1.0
    open: float = 0.0
    knee_n: float = 0.0

    def velocity(self, force_n: Array) -> Array:
        """Piston speed at a hydraulic force, same shape; force >= 0."""
        raise NotImplementedError

    def force(self, velocity_m_s: Array) -> Array:
        """Hydraulic force at a piston speed, same shape; speed >= 0. Inverse of `velocity`."""
        raise NotImplementedError
