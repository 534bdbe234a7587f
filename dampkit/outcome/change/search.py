"""The smallest change that brings one direction into its band: fewest parts first, then closest to the middle."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from scipy.special import ndtr

from dampkit.expected.conformity import SURE, guard_band
from dampkit.outcome.change.aim import SHARE_KEPT, Aim
from dampkit.outcome.change.levers import Move, Ratios, ratios_of
from dampkit.outcome.change.predict import Changeable
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
WORTH = 0.1  # share by which one more part must raise the chance of being inside to be worth it; own choice
HOPELESS = 1e-3  # a chance below this does not rank sets of parts any more: the plain distance does; own choice
FARTHEST = 5.0  # a ratio beyond this is another valve, not a change; own choice
GRID = 61  # speeds at which a law is laid out for its damping ratio


@dataclass(frozen=True)
class Found:
    """`worst`: the largest distance from what is wanted, guard band included; at most 1 is inside with 95 %.

    `plain`: the same without guard band. `chance`: of being inside at every speed, as if speeds erred on their own.
    """

    ratios: Ratios
    levers: tuple[Move, ...]
    worst: float
    plain: float = 0.0
    chance: float = 0.0

    @property
    def inside(self) -> bool:
        return self.worst <= 1.0


def smallest_change(side: Changeable, aim: Aim, levers: Sequence[Move], must: bool = False) -> Found:
    """The first set of levers, in the order of SETS, that comes inside; with `must`, leaving all as it is does not count.

    Where none is sure to (a drilled hole scatters more than a narrow window forgives), the first whose chance of being
    inside is about as good as any; leaving a force surely outside has none, however little is moved.
    """
    tried = []
    for chosen in SETS:
        if not set(chosen) <= set(levers) or (must and not chosen):
            continue
        found = solve(side, aim, chosen)
        if found.inside:
            return found
        tried.append(found)
    best = max(found.chance for found in tried)
    if best >= HOPELESS:
        return next(found for found in tried if found.chance >= (1 - WORTH) * best)
    nearest = min(found.plain for found in tried)
    return next(found for found in tried if found.plain <= (1 + WORTH) * nearest)


def solve(side: Changeable, aim: Aim, levers: tuple[Move, ...], fixed: Mapping[Move, float] | None = None) -> Found:
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
    return Found(best, (*given, *levers), worst_miss(side, aim, best), *_outlook(side, aim, best))


def _outlook(side: Changeable, aim: Aim, ratios: Ratios) -> tuple[float, float]:
    """Largest plain distance, and the chance of being inside at every speed and by the ratio. Source: [jcgm106] 7.4."""
    misses = aim.misses(side.reading_n(aim.velocity_m_s, ratios))
    doubt = side.half_width_n(aim.velocity_m_s, ratios) / aim.half_n() / Z95
    if aim.ratio is not None:
        misses = np.append(misses, _ratio_miss(side, aim, ratios))
        doubt = np.append(doubt, _ratio_guard(side, aim, ratios) / guard_band(1.0))
    doubt = np.maximum(doubt, 1e-9)
    inside = ndtr((1 - misses) / doubt) - ndtr((-1 - misses) / doubt)
    return float(np.abs(misses).max()), float(np.prod(inside))


def worst_miss(side: Changeable, aim: Aim, ratios: Ratios) -> float:
    """Largest distance from what is wanted at any speed, and of the damping ratio, with the guard band added.

    The guard band is for all speeds together: each at 1 - 0.05/K (Bonferroni), so that the whole is sure to 95 %.
    """
    guard = guard_band(1.0, 1 - (1 - SURE) / (aim.velocity_m_s.size + 1)) / Z95
    half = side.half_width_n(aim.velocity_m_s, ratios)
    force = side.reading_n(aim.velocity_m_s, ratios)
    told = 1.0 if aim.told is None else aim.told
    distance = np.abs(aim.misses(force)) + told * guard * half / aim.half_n()
    return max(float(distance.max()), abs(_ratio_miss(side, aim, ratios)) + _ratio_guard(side, aim, ratios))


def _ratio_guard(side: Changeable, aim: Aim, ratios: Ratios) -> float:
    """Guard band of the damping ratio, as a share of its tolerance: the force's relative doubt at the rated speed."""
    if aim.ratio is None:
        return 0.0
    at = np.array([aim.ratio.velocity_m_s])
    relative = float((side.half_width_n(at, ratios) / side.reading_n(at, ratios))[0])
    return guard_band(1.0) / Z95 * relative * aim.ratio.target / aim.ratio.slack


def _residuals(side: Changeable, aim: Aim, ratios: Ratios) -> Array:
    misses = aim.misses(side.reading_n(aim.velocity_m_s, ratios))
    if aim.centred:
        return misses
    pushed = np.sign(misses) * np.maximum(np.abs(misses) - SHARE_KEPT, 0.0)
    return np.append(pushed, _ratio_miss(side, aim, ratios))


def _ratio_miss(side: Changeable, aim: Aim, ratios: Ratios) -> float:
    if aim.ratio is None:
        return 0.0
    v = np.linspace(1e-4, aim.ratio.velocity_m_s, GRID)
    return aim.ratio_miss(v, side.reading_n(v, ratios))
