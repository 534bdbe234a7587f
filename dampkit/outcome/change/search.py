"""The smallest change that brings one direction into its band: what can be undone first, then the fewest parts."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import field

import numpy as np

from dampkit.damper.least_squares import least_squares
from dampkit.expected.conformity import SURE, Answer, guard_band
from dampkit.frozen import frozen
from dampkit.needs.ratio import cycle_damping
from dampkit.outcome.change.aim import SHARE_KEPT, Aim, RatioAim
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
    "leak": (1.0, 1.0),  # set by nothing: a leak is renewed
}
WITHIN = 1e-4  # of the scatter about what is wanted: how far a ratio that is found may still move it
GRID = 61  # speeds of a law that is laid out for its damping ratio


@frozen
class Within:
    """`reach`: lowest and highest ratio of each move; `fixed`: ratios that stand as given.

    `hold`: distance from what is wanted that a part's logarithm of its ratio is worth, so that of two ways the near one
    is taken.
    """

    reach: Mapping[Move, tuple[float, float]] = field(default_factory=lambda: REACH)
    fixed: Mapping[Move, float] = field(default_factory=dict)
    hold: float = 0.0


@frozen
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


def sets_of(levers: Sequence[Move], *, must: bool = False) -> list[tuple[Move, ...]]:
    """Sets of levers in the order of SETS; with `must`, leaving all as it is does not count."""
    return [chosen for chosen in SETS if set(chosen) <= set(levers) and (chosen or not must)]


def smallest_change(
    side: Changeable, aim: Aim, sets: Sequence[tuple[Move, ...]], *, within: Within | None = None
) -> Found:
    """The first of the sets of levers that comes inside.

    Where none is sure to (a drilled hole scatters more than a narrow window forgives), the first whose chance of being
    inside is about as good as any; leaving a force surely outside has none, however little is moved.
    """
    tried = []
    for chosen in sets:
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
        start = np.where(high > 0, 0.0, 0.2 * low)  # inside its bounds

        held = np.array([0.0 if name == "leak" else within.hold for name in levers])  # a leak may be any

        def residuals(x: Array) -> Array:
            return np.append(_residuals(side, aim, ratios(x)), held * x)

        def slopes(x: Array) -> Array:
            return np.concatenate([_slopes(side, aim, ratios(x), levers), np.diag(held)])

        best = ratios(least_squares(residuals, slopes, start, low=low, high=high, within=WITHIN).parameters)
    return Found(best, (*given, *levers), *_outlook(side, aim, best))


def in_other(owner: Changeable, other: Changeable, ratio: float) -> float:
    """What a hole that is open both ways, made so many times as large for one direction, makes of the other's."""
    now = other.fit.valve.bleed
    return max((now + (ratio - 1) * owner.fit.valve.bleed) / now, REACH["bleed"][0])


def worst_miss(side: Changeable, aim: Aim, ratios: Ratios) -> float:
    """Largest distance from what is wanted at any speed, and of the damping ratio, with the guard band added."""
    return _outlook(side, aim, ratios)[0]


def _outlook(side: Changeable, aim: Aim, ratios: Ratios) -> tuple[float, float, float, float]:
    """`worst_miss`, the same without a guard band, the chance of being inside at every speed and by the ratio, and at the
    worst of them alone.

    The guard band is for all speeds together: each at 1 - 0.05/K (Bonferroni), so that the whole is sure to 95 %.
    Source: [jcgm106] 7.4.
    """
    misses, ratio_miss = aim.misses(side.reading_n(aim.velocity_m_s, ratios)), _ratio_miss(side, aim, ratios)
    doubt, ratio_guard = side.half_width_n(aim.velocity_m_s, ratios) / aim.half_n(), _ratio_guard(side, aim, ratios)
    guard = guard_band(1.0, 1 - (1 - SURE) / (misses.size + 1)) / Z95
    told = 1.0 if aim.told is None else aim.told
    worst = max(float((np.abs(misses) + told * guard * doubt).max()), abs(ratio_miss) + ratio_guard)
    doubt = doubt / Z95
    if aim.ratio is not None:
        misses, doubt = np.append(misses, ratio_miss), np.append(doubt, ratio_guard / guard_band(1.0))
    pairs = zip(misses, np.maximum(doubt, 1e-9), strict=True)
    inside = np.array([normal_share((1 - miss) / d) - normal_share((-1 - miss) / d) for miss, d in pairs])
    return worst, float(np.abs(misses).max()), float(np.prod(inside)), float(inside.min())


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


def _slopes(side: Changeable, aim: Aim, ratios: Ratios, moves: Sequence[Move]) -> Array:
    """Slopes of `_residuals` by the logarithms of what is moved."""
    misses = aim.misses(side.reading_n(aim.velocity_m_s, ratios))
    by_force = side.slopes_n(aim.velocity_m_s, ratios, moves) / aim.room_n(misses)[:, None]
    if aim.centred:
        return by_force
    pushed = by_force * (np.abs(misses) > SHARE_KEPT)[:, None]
    return np.vstack([pushed, _ratio_slopes(side, aim, ratios, moves)])


def _ratio_miss(side: Changeable, aim: Aim, ratios: Ratios) -> float:
    if aim.ratio is None:
        return 0.0
    v = _up_to(aim.ratio)
    return aim.ratio_miss(v, side.reading_n(v, ratios))


def _ratio_slopes(side: Changeable, aim: Aim, ratios: Ratios, moves: Sequence[Move]) -> Array:
    if aim.ratio is None:
        return np.zeros(len(moves))
    v = _up_to(aim.ratio)
    per_miss = aim.ratio.per_damping / aim.ratio.slack
    return per_miss * np.array([cycle_damping(aim.ratio.velocity_m_s, v, f) for f in side.slopes_n(v, ratios, moves).T])


def _up_to(ratio: RatioAim) -> Array:
    """Speeds at which a law is laid out for its damping ratio."""
    return np.linspace(1e-4, ratio.velocity_m_s, GRID)
