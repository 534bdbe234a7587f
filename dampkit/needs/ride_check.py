"""The ride that one measured unit gives one corner, beside the needed and a worn one, and what else could be chosen."""

from __future__ import annotations

from itertools import product

import numpy as np

from dampkit.damper.unit import Unit
from dampkit.frozen import frozen
from dampkit.needs.corner import Corner
from dampkit.needs.kick import held_slope
from dampkit.needs.requirement import Need
from dampkit.needs.ride import EventRide, RoadRide, rides
from dampkit.needs.road import FAIR_ROAD, Road
from dampkit.needs.simulate import Stops, cases_of
from dampkit.needs.wheel_curve import WheelCurves, curves_from, measured_curves, needed_curves
from dampkit.quantities import Array

WORN_SHARE = 0.5  # of the unit's force at every speed, for the worn unit beside it; own choice
RATE_SHARES = (0.8, 1.0, 1.25)  # of the corner's wheel rate, in the choice of comfort against grip
FORCE_SHARES = (0.5, 0.7, 1.0, 1.4, 2.0)  # of the unit's force
OTHER_ROADS = tuple(Road(c, v / 3.6) for c, v in product("ABCDE", (20, 60, 100, 130)))
MOST_RATIO = 10.0  # of critical, over which body and wheel are as one and the steps do not hold; own choice
MEASURED, NEEDED, WORN = "this unit", "as needed", "this unit worn to half its force"


@frozen
class RideCheck:
    """`road`, `kerb`, `bump` and `push_swings_count` hold a case for each of `names`, this unit first.

    `within_test` is False where the road drove the damper beyond the stages run. `choice` is of shape
    (RATE_SHARES x FORCE_SHARES): this unit with other springs, made softer or firmer. `roads` holds this unit on each
    of OTHER_ROADS. `dead_swings_count` is a push-down with no damper at all.
    """

    on: Road
    names: tuple[str, ...]
    road: RoadRide
    kerb: EventRide
    bump: EventRide
    push_swings_count: Array
    dead_swings_count: float
    fastest_damper_m_s: float
    within_test: bool
    play_m: float
    stops: Stops | None
    choice: RoadRide
    roads: RoadRide


def ride_check(
    fit: Unit, corner: Corner, need: Need | None = None, road: Road = FAIR_ROAD, stops: Stops | None = None
) -> RideCheck | None:
    """None where a direction of the unit has no fit, or it is MOST_RATIO times critical or more: no damper for that car.

    Source: [iso8608] for the road, [iso2631] for comfort.

    All rides run side by side in one loop. Lost motion acts as free play of its mean width in every case but the
    needed one. Compression and extension stops act in all.
    """
    curves = measured_curves(fit, corner.motion_ratio)
    laws = [side.law for side in fit.sides if side.law is not None]
    if curves is None or len(laws) < 2:
        return None
    if float(held_slope(curves)[0]) > MOST_RATIO * corner.critical_damping_n_s_m:
        return None
    play = lost_motion_m(fit) / corner.motion_ratio
    names, few = _beside(corner, curves, need)
    rates, shares = (grid.ravel() for grid in np.meshgrid(RATE_SHARES, FORCE_SHARES, indexing="ij"))
    dead = curves_from(np.zeros_like, 1.0)
    every = few.beside(dead).beside(curves.scaled(shares))
    n, choices = len(names), rates.size
    gaps = np.array([0.0 if name == NEEDED else play for name in names] + [play] * (1 + choices))
    rate = corner.wheel_rate_n_m * np.concatenate([np.ones(n + 1), rates])
    shown, chosen, elsewhere = (
        np.arange(n),
        np.arange(n + 1, n + 1 + choices),
        np.zeros(len(OTHER_ROADS), dtype=np.intp),
    )
    found = rides(
        cases_of(corner, every, rate, gaps, stops),
        (road,) * (n + choices) + OTHER_ROADS,
        np.concatenate([shown, chosen, elsewhere]),
        over=shown,
        pushed=np.arange(n + 1),
    )
    fastest = corner.motion_ratio * float(found.road.top_travel_speed_m_s[0])
    return RideCheck(
        on=road,
        names=names,
        road=found.road.part(slice(0, n)),
        kerb=found.kerb,
        bump=found.bump,
        push_swings_count=found.push_swings_count[:-1],
        dead_swings_count=float(found.push_swings_count[-1]),
        fastest_damper_m_s=fastest,
        within_test=fastest <= min(law.top_m_s for law in laws),
        play_m=play,
        stops=stops,
        choice=found.road.part(slice(n, n + choices)),
        roads=found.road.part(slice(n + choices, None)),
    )


def lost_motion_m(fit: Unit) -> float:
    """At the damper: mean of what both directions show; 0 where none was established."""
    known = [side.lost_motion_mm.value for side in fit.sides if side.lost_motion_mm is not None]
    return 1e-3 * max(0.0, sum(known) / len(known)) if known else 0.0


def _beside(corner: Corner, curves: WheelCurves, need: Need | None) -> tuple[tuple[str, ...], WheelCurves]:
    """This unit, the needed one where it is known, and a worn one."""
    worn = curves.scaled(np.array([WORN_SHARE]))
    if need is None:
        return (MEASURED, WORN), curves.beside(worn)
    return (MEASURED, NEEDED, WORN), curves.beside(needed_curves(need, corner.motion_ratio)).beside(worn)
