"""The smallest change that brings one direction into its band: what can be undone first, then the fewest parts."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np

from dampkit.damper.least_squares import least_squares
from dampkit.expected.conformity import SURE, Answer, guard_band
from dampkit.outcome.change.aim import SHARE_KEPT, Aim
from dampkit.outcome.change.levers import Move, Ratios, ratios_of
from dampkit.outcome.change.predict import Changeable
from dampkit.quantities import Z95, Array, normal_share

# What can be put back comes before a hole, which cannot
SETS: tuple[tuple[Move, ...], ...] = (
    (),
    ("preload",),
    ("stack",),
    ("spring",),
    ("preload", "spring"),
    ("bleed",),
    ("bleed", "preload"),
    ("bleed", "stack"),
    ("bleed", "spring"),
    ("bleed", "preload", "spring"),
)
WORTH = 0.1  # share by which one more part must raise the chance of being inside to be worth it; own choice
HOPELESS = 1e-3  # a chance below this does not rank sets of parts any more: the plain distance does; own choice
# New over old, lowest and highest that can be made; beyond it is another valve: a spring is set or exchanged for half to
# twice its load or rate before it goes slack or solid, a bleed drilled to twice its width. Common practice, no source.
REACH: dict[Move, tuple[float, float]] = {
    "bleed": (0.25, 4.0),
    "preload": (0.5, 2.0),
    "spring": (0.5, 2.0),
    "stack": (0.5, 2.0),
}
STEP = 1e-4  # of the logarithm of a ratio, for the slopes of the distance
WITHIN = 1e-4  # of the scatter about what is wanted: how far a ratio that is found may still move it
GRID = 61  # speeds at which a law is laid out for its damping ratio


@dataclass(frozen=True)
class Within:
    """`reach`: lowest and highest ratio of each move; `fixed`: ratios that stand as given."""

    reach: Mapping[Move, tuple[float, float]] = field(default_factory=lambda: REACH)
    fixed: Mapping[Move, float] = field(default_factory=dict)


@dataclass(frozen=True)
class Found:
    """`worst`: the largest distance from what is wanted, guard band included; at most 1 is inside with 95 %.

    `plain`: the same without guard band. `chance`: of being inside at every speed, as if speeds erred on their own.

    `least`: the chance at its worst speed alone.
    """

    ratios: Ratios
    levers: tuple[Move, ...]
    worst: float
    plain: float = 0.0
    chance: float = 0.0
    least: float = 0.0

    @property
    def inside(self) -> bool:
        return self.worst <= 1.0

    @property
    def answer(self) -> Answer:
        """Out where one speed is surely not brought inside."""
        if self.inside:
            return "in"
        return "out" if self.least <= 1 - SURE else "not established"


def smallest_change(
    side: Changeable, aim: Aim, levers: Sequence[Move], *, must: bool = False, within: Within | None = None
) -> Found:
    """The first set of levers, in the order of SETS, that comes inside; with `must`, leaving all as it is does not count.

    Where none is sure to (a drilled hole scatters more than a narrow window forgives), the first whose chance of being
    inside is about as good as any; leaving a force surely outside has none, however little is moved.
    """
    tried = []
    for chosen in SETS:
        if not set(chosen) <= set(levers) or (must and not chosen):
            continue
        found = solve(side, aim, chosen, within=within)
        if found.inside:
            return found
        tried.append(found)
    best = max(found.chance for found in tried)
    if best >= HOPELESS:
        return next(found for found in tried if found.chance >= (1 - WORTH) * best)
    nearest = min(found.plain for found in tried)
    return next(found for found in tried if found.plain <= (1 + WORTH) * nearest)


def solve(side: Changeable, aim: Aim, levers: tuple[Move, ...], *, within: Within | None = None) -> Found:
    """The ratios of `levers`, within what can be made, that come closest to what is wanted.

    Source: own; bounded least squares over the logarithms of the ratios.
    """
    within = within or Within()
    given = dict(within.fixed)

    def ratios(x: Array) -> Ratios:
        return ratios_of({**given, **{name: float(np.exp(v)) for name, v in zip(levers, x, strict=True)}})

    best = ratios(np.zeros(len(levers)))
    if levers:
        low, high = np.log([within.reach[name] for name in levers]).T
        start = np.zeros(len(levers))

        def residuals(x: Array) -> Array:
            return _residuals(side, aim, ratios(x))

        def slopes(x: Array) -> Array:
            steps = STEP * np.eye(x.size)
            return np.stack([residuals(x + step) - residuals(x - step) for step in steps], axis=1) / (2 * STEP)

        best = ratios(least_squares(residuals, slopes, start, low=low, high=high, within=WITHIN).parameters)
    return Found(best, (*given, *levers), worst_miss(side, aim, best), *_outlook(side, aim, best))


def _outlook(side: Changeable, aim: Aim, ratios: Ratios) -> tuple[float, float, float]:
    """Largest plain distance, the chance of being inside at every speed and by the ratio, and at the worst of them alone.

    Source: [jcgm106] 7.4.
    """
    misses = aim.misses(side.reading_n(aim.velocity_m_s, ratios))
    doubt = side.half_width_n(aim.velocity_m_s, ratios) / aim.half_n() / Z95
    if aim.ratio is not None:
        misses = np.append(misses, _ratio_miss(side, aim, ratios))
        doubt = np.append(doubt, _ratio_guard(side, aim, ratios) / guard_band(1.0))
    doubt = np.maximum(doubt, 1e-9)
    pairs = zip(misses, doubt, strict=True)
    inside = np.array([normal_share((1 - miss) / d) - normal_share((-1 - miss) / d) for miss, d in pairs])
    return float(np.abs(misses).max()), float(np.prod(inside)), float(inside.min())


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
