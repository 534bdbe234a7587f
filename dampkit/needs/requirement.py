"""The force at the damper that a corner needs against speed, as a band, from its target ratio and rebound share."""

from __future__ import annotations

import math

import numpy as np

from dampkit.frozen import frozen
from dampkit.needs.corner import Corner
from dampkit.quantities import Array, Direction, read_only

RATED_SPEED_M_S = 0.3  # at the damper, where the target ratio is meant to hold: rated point of [jaso_c602]
KNEE_SPEED_M_S = 0.15  # up to here a plain bleed may make the force, with the square of speed; knees lie at 0.05 to
# 0.2 m/s: common practice, from memory
HOP_SPEED_M_S = 0.6  # wheel hop moves the damper at up to about so much; common practice, no source
TOP_SPEED_M_S = 1.0
POINTS = 101  # of the band
TOLERANCE_OF_RATIO = 0.20  # share of the target ratio either way; common practice, no source
HIGHEST_RATIO = 1.0  # of critical: more than this at any speed and the body is tied to the road; own choice
LEAST_HOP_RATIO = 0.15  # of critical, wheel motion; common practice, no source
USUAL_REBOUND_SHARE = 0.70  # of rebound + compression force [reimpell], [dixon2007]
FLAT_TOP = 4 / math.pi  # a force that stays flat above its knee damps so much more than its end-point slope


@frozen
class Need:
    """Force at the damper, friction included, positive magnitudes, shape (K,). `basis` says how it was worked out."""

    velocity_m_s: Array
    rebound_n: Array
    rebound_low_n: Array
    rebound_high_n: Array
    compression_n: Array
    compression_low_n: Array
    compression_high_n: Array
    basis: str

    def band(self, direction: Direction) -> tuple[Array, Array, Array]:
        """Middle, lower and upper edge of one direction."""
        if direction == "rebound":
            return self.rebound_n, self.rebound_low_n, self.rebound_high_n
        return self.compression_n, self.compression_low_n, self.compression_high_n


def needed_damping(corner: Corner, ratio: float) -> float:
    """Mean damping coefficient at the damper for a damping ratio of the body, N s/m: 2 zeta sqrt(k m) / R^2.

    Source: [rao] ch. 2 (critical damping), [dixon2007] (motion ratio).
    """
    return corner.at_damper(ratio * corner.critical_damping_n_s_m)


def spring_friction_at_damper_n(corner: Corner) -> float:
    """Force at the damper that would take as much energy as the spring's own friction, the same at every speed: 4 F/(pi R).

    As a damping ratio it falls with the speed of the swing: 4 F/(pi V) of critical, V at the wheel.
    Source: [rao] ch. 3 (Coulomb equivalent), [dixon2007] (motion ratio).
    """
    return 4 / math.pi * corner.spring_friction_n / corner.motion_ratio


def spring_friction_ratio(corner: Corner) -> float:
    """Damping ratio that the spring's own friction adds where the damper runs at RATED_SPEED_M_S."""
    at_damper = spring_friction_at_damper_n(corner) / RATED_SPEED_M_S
    return corner.at_wheel(at_damper) / corner.critical_damping_n_s_m


def damper_target_ratio(corner: Corner, share: float = 1.0) -> float | None:
    """What is left of a share of the target for the damper when the spring's friction has done its part; at least 0."""
    if corner.target_ratio is None:
        return None
    return max(0.0, share * corner.target_ratio - spring_friction_ratio(corner))


def hop_damping(corner: Corner, ratio: float = LEAST_HOP_RATIO) -> float:
    """Damping coefficient at the damper that gives the wheel motion the ratio, N s/m.

    Light damping: zeta = c (stroke of the mode)^2 / (2 omega x modal mass), from the undamped wheel mode.
    For a ratio up to 0.3 within about 1.5 % of the eigenvalues on a car corner. Source: [rao] ch. 6 (modal damping).
    """
    ms, mu, k = corner.sprung_mass_kg, corner.unsprung_mass_kg, corner.wheel_rate_n_m
    omega = 2 * math.pi * corner.modes().wheel_frequency_hz
    body = k / (k - ms * omega**2)  # body travel for one metre of wheel travel in that mode
    at_wheel = 2 * ratio * omega * (mu + ms * body**2) / (1 - body) ** 2
    return corner.at_damper(at_wheel)


def needed_forces(corner: Corner) -> Need | None:
    """The band from standstill to TOP_SPEED_M_S; None where the corner has no target ratio.

    Up to RATED_SPEED_M_S: the mean slope of the target ratio, split by the rebound share, minus the tolerance, less the
    force that the spring's friction already gives, which leaves little or nothing to do in small, slow swings; the
    lower edge leaves room for a bleed, whose force goes with the square of speed up to KNEE_SPEED_M_S; the
    upper edge leaves room for a valve that builds its force early, but not beyond HIGHEST_RATIO. Above: the upper
    edge goes straight on (more would be harsh); the lower edge stays flat, but not below what keeps the wheel ratio
    at LEAST_HOP_RATIO up to HOP_SPEED_M_S; the middle goes on with that slope.
    Source: own, from the relations named in `needed_damping` and `hop_damping`.
    """
    if corner.target_ratio is None:
        return None
    limits = [
        needed_damping(corner, (1 + edge) * corner.target_ratio)
        for edge in (-TOLERANCE_OF_RATIO, 0.0, TOLERANCE_OF_RATIO)
    ]
    share = USUAL_REBOUND_SHARE if corner.rebound_share_ratio is None else corner.rebound_share_ratio
    v = np.linspace(0.0, TOP_SPEED_M_S, POINTS)
    slopes = np.array([*limits, hop_damping(corner), needed_damping(corner, HIGHEST_RATIO)])
    rubbing = spring_friction_at_damper_n(corner)
    rebound = _edges(v, 2 * share * slopes, 2 * share * rubbing)
    compression = _edges(v, 2 * (1 - share) * slopes, 2 * (1 - share) * rubbing)
    return Need(read_only(v), *rebound, *compression, basis=_basis(corner, share))


def _edges(v: Array, slopes: Array, rubbing_n: float) -> tuple[Array, Array, Array]:
    """Middle, lower and upper edge of one direction; slopes in N s/m at the damper: least, wanted, most, hop, critical.

    `rubbing_n` is what the spring's friction does of the force.
    """
    least, wanted, most, hop_slope, critical_slope = slopes

    def left(slope: float, speed: Array) -> Array:
        return np.maximum(slope * speed - rubbing_n, 0.0)

    body, beyond = np.minimum(v, RATED_SPEED_M_S), np.maximum(v - RATED_SPEED_M_S, 0.0)
    at_rated = left(most, np.maximum(v, RATED_SPEED_M_S))
    high = np.maximum(np.minimum(at_rated, critical_slope * v), left(most, v))
    least_hop = hop_slope * np.clip(v, RATED_SPEED_M_S, HOP_SPEED_M_S) / FLAT_TOP
    low = left(least, body * np.minimum(v / KNEE_SPEED_M_S, 1.0))
    low = np.where(beyond > 0, np.minimum(np.maximum(low, least_hop), high), low)
    middle = np.clip(left(wanted, body) + hop_slope * beyond, low, high)
    return read_only(middle), read_only(low), read_only(high)


def _basis(corner: Corner, share: float) -> str:
    given = "" if corner.rebound_share_ratio is not None else " (usual share, none was given)"
    return (
        f"Target damping ratio {corner.target_ratio:.2f} plus or minus {100 * TOLERANCE_OF_RATIO:.0f} %, "
        f"{100 * share:.0f} % of the force in rebound{given}, at {RATED_SPEED_M_S:g} m/s at the damper. "
        "Slower, the force may build up early, up to critical damping, or late, as through a plain bleed. Faster, the lower edge keeps wheel hop at "
        f"{LEAST_HOP_RATIO:g} of critical or better and the upper edge limits harshness. "
        f"Tolerance and wheel-hop speed: common practice, no source.{_spring_words(corner)}"
    )


def _spring_words(corner: Corner) -> str:
    if corner.spring_friction_n <= 0:
        return ""
    return (
        f" The spring's own friction gives a damping ratio of {spring_friction_ratio(corner):.2f} at that speed and more in "
        "smaller, slower swings; its force is taken off at every speed. Pushing the car down by hand makes small swings, "
        "so friction can hide a dead damper."
    )
