"""The smallest change that brings one direction into its band: fewest parts first, then closest to the middle."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from dampkit.outcome.change.aim import SHARE_KEPT, Aim
from dampkit.outcome.change.levers import Move, Ratios, ratios_of
from dampkit.outcome.change.predict import Side
from dampkit.outcome.conformity import SURE, guard_band
from dampkit.quantities import Z95, Array

SETS: tuple[tuple[Move, ...], ...] = (
    (),
    ("bleed",),
    ("preload",),
    ("stack",),
    ("spring",),
    ("bleed", "preload"),
    ("bleed", "stack"),
    ("preload", "spring"),
    ("bleed", "spring"),
    ("bleed", "preload", "spring"),
)
WORTH = 0.1  # share by which one more part must bring the curve closer to be worth it; own choice
FARTHEST = 5.0  # a ratio beyond this is another valve, not a change; own choice
GRID = 61  # speeds at which a law is laid out for its damping ratio


@dataclass(frozen=True)
class Found:
    """`worst`: the largest distance from what is wanted, guard band included; at most 1 is inside with 95 %."""

    ratios: Ratios
    levers: tuple[Move, ...]
    worst: float

    @property
    def inside(self) -> bool:
        return self.worst <= 1.0


def smallest_change(side: Side, aim: Aim, levers: Sequence[Move], must: bool = False) -> Found:
    """The first set of levers, in the order of SETS, that comes inside; with `must`, leaving all as it is does not count.

    Where none does (the doubt of the measurement may be too large for that), the first that is about as close as any.
    """
    tried = []
    for chosen in SETS:
        if not set(chosen) <= set(levers) or (must and not chosen):
            continue
        found = solve(side, aim, chosen)
        if found.inside:
            return found
        tried.append(found)
    closest = min(found.worst for found in tried)
    return next(found for found in tried if found.worst <= (1 + WORTH) * closest)


def solve(side: Side, aim: Aim, levers: tuple[Move, ...], fixed: Mapping[Move, float] | None = None) -> Found:
    """The ratios of `levers` that come closest to what is wanted; `fixed` ones stand as given.

    Source: own; bounded least squares over the logarithms of the ratios.
    """
    given = dict(fixed or {})

    def ratios(x: Array) -> Ratios:
        return ratios_of({**given, **{name: float(np.exp(v)) for name, v in zip(levers, x, strict=True)}})

    best = ratios(np.zeros(len(levers)))
    if levers:
        from scipy.optimize import least_squares

        reach = np.log(FARTHEST)
        start = np.zeros(len(levers))

        def residuals(x: Array) -> Array:
            return _residuals(side, aim, ratios(x))

        best = ratios(least_squares(residuals, start, bounds=(-reach, reach)).x)
    return Found(best, (*given, *levers), worst_miss(side, aim, best))


def worst_miss(side: Side, aim: Aim, ratios: Ratios) -> float:
    """Largest distance from what is wanted at any speed, and of the damping ratio, with the guard band added.

    The guard band is for all speeds together: each at 1 - 0.05/K (Bonferroni), so that the whole is sure to 95 %.
    """
    guard = guard_band(1.0, 1 - (1 - SURE) / (aim.velocity_m_s.size + 1)) / Z95
    half = side.half_width_n(aim.velocity_m_s, ratios)
    force = side.reading_n(aim.velocity_m_s, ratios)
    told = 1.0 if aim.told is None else aim.told
    distance = np.abs(aim.misses(force)) + told * guard * half / aim.half_n()
    return max(float(distance.max()), abs(_ratio_miss(side, aim, ratios)) + _ratio_guard(side, aim, ratios))


def _ratio_guard(side: Side, aim: Aim, ratios: Ratios) -> float:
    """Guard band of the damping ratio, as a share of its tolerance: the force's relative doubt at the rated speed."""
    if aim.ratio is None:
        return 0.0
    at = np.array([aim.ratio.velocity_m_s])
    relative = float((side.half_width_n(at, ratios) / side.reading_n(at, ratios))[0])
    return guard_band(1.0) / Z95 * relative * aim.ratio.target / aim.ratio.slack


def _residuals(side: Side, aim: Aim, ratios: Ratios) -> Array:
    misses = aim.misses(side.reading_n(aim.velocity_m_s, ratios))
    if aim.centred:
        return misses
    pushed = np.sign(misses) * np.maximum(np.abs(misses) - SHARE_KEPT, 0.0)
    return np.append(pushed, _ratio_miss(side, aim, ratios))


def _ratio_miss(side: Side, aim: Aim, ratios: Ratios) -> float:
    if aim.ratio is None:
        return 0.0
    v = np.linspace(1e-4, aim.ratio.velocity_m_s, GRID)
    return aim.ratio_miss(v, side.reading_n(v, ratios))
