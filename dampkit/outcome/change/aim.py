"""Where the curve of one direction should come to lie, and how far a curve is from it."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from dampkit.expected.reference import Compared
from dampkit.frozen import frozen
from dampkit.needs.corner import Corner
from dampkit.needs.ratio import cycle_damping
from dampkit.needs.requirement import (
    RATED_SPEED_M_S,
    TOLERANCE_OF_RATIO,
    USUAL_REBOUND_SHARE,
    Need,
    damper_target_ratio,
)
from dampkit.quantities import Array, Direction

SHARE_KEPT = 0.7  # of the half-width of a need band, beyond which a curve is pushed back; own choice
SLOWEST_M_S = 0.04  # below this the need band is not held against a curve: friction rules there; own choice


@frozen
class RatioAim:
    """Damping ratio of one direction's half cycle at a speed; `per_damping` turns N s/m at the damper into a ratio."""

    target: float
    slack: float
    per_damping: float
    velocity_m_s: float = RATED_SPEED_M_S


@frozen
class Aim:
    """Bench forces of one direction, friction in and gas out, N, shape (K,). `centred`: the middle is wanted.

    `told` is 1 where the test is fine enough to call a force in, else 0: there its value counts, its doubt does not.
    """

    direction: Direction
    velocity_m_s: Array
    wanted_n: Array
    low_n: Array
    high_n: Array
    centred: bool
    ratio: RatioAim | None = None
    told: Array | None = None

    def misses(self, force_n: Array) -> Array:
        """How far each force is from what is wanted, 1 at the edge of the band; shape (K,)."""
        off = force_n - self.wanted_n
        return np.asarray(off / self.room_n(off))

    def room_n(self, off: Array) -> Array:
        """From what is wanted to the edge on the side of what is off above or below it; shape (K,)."""
        room = np.where(off > 0, self.high_n - self.wanted_n, self.wanted_n - self.low_n)
        return np.asarray(np.maximum(room, 1e-9))

    def half_n(self) -> Array:
        return np.asarray(np.maximum(0.5 * (self.high_n - self.low_n), 1e-9))

    def ratio_miss(self, velocity_m_s: Array, force_n: Array) -> float:
        """How far the damping ratio of a curve is from its target, 1 at the edge of its tolerance; 0 without one."""
        if self.ratio is None:
            return 0.0
        c = cycle_damping(self.ratio.velocity_m_s, velocity_m_s, force_n)
        return (c * self.ratio.per_damping - self.ratio.target) / self.ratio.slack


def reference_aim(points: Sequence[Compared], direction: Direction) -> Aim | None:
    """The window of the known-good unit at the speeds that were tested, as warm as the test was; None where none was."""
    tested = [p for p in points if p.direction == direction and p.measured_n is not None]
    if not tested:
        return None
    rows = [(p.velocity_m_s, *(_as_warm(p) * f for f in (p.wanted_n, p.low_n, p.high_n))) for p in tested]
    v, wanted, low, high = np.array(rows, dtype=np.float64).T
    told = np.array([telling(p) for p in tested], dtype=np.float64)
    return Aim(direction, v, wanted, low, high, centred=True, told=told)


def _as_warm(point: Compared) -> float:
    """What the test's temperature makes of a force, over that at the reference's."""
    if point.as_read is None or point.measured_n is None or point.measured_n.value <= 0:
        return 1.0
    return point.as_read.force_n / point.measured_n.value


def telling(point: Compared) -> bool:
    """Measured finely enough that it could be called in at all: its interval is narrower than its window."""
    return point.measured_n is not None and 2 * point.measured_n.half_width < point.high_n - point.low_n


def vehicle_aim(corner: Corner, need: Need, direction: Direction, top_m_s: float) -> Aim | None:
    """The band that the vehicle needs up to the speed tested, and the half cycle's share of the target ratio.

    None where the target is met by the spring's friction alone or the stages do not reach the rated speed.
    """
    target, low, high = (damper_target_ratio(corner, 1 + e) for e in (0.0, -TOLERANCE_OF_RATIO, TOLERANCE_OF_RATIO))
    if not target or low is None or high is None or top_m_s < 0.98 * RATED_SPEED_M_S:
        return None
    share = USUAL_REBOUND_SHARE if corner.rebound_share_ratio is None else corner.rebound_share_ratio
    part = 2 * (share if direction == "rebound" else 1 - share)
    inside = (need.velocity_m_s >= SLOWEST_M_S) & (need.velocity_m_s <= top_m_s)
    edges = [edge[inside][::4] for edge in need.band(direction)]
    ratio = RatioAim(part * target, part * 0.5 * (high - low), corner.at_wheel(1.0) / corner.critical_damping_n_s_m)
    return Aim(direction, need.velocity_m_s[inside][::4], edges[0], edges[1], edges[2], centred=False, ratio=ratio)
