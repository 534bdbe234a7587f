"""The ride that one measured unit gives one corner, beside the needed and a worn one, and what else could be chosen."""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import product

import numpy as np

from dampkit.damper.unit import Unit
from dampkit.needs.corner import Corner
from dampkit.needs.kick import held_slope
from dampkit.needs.requirement import Need
from dampkit.needs.ride import EventRide, RoadRide, over_bump, over_kerb, pushed_down, ride_on_road
from dampkit.needs.road import FAIR_ROAD, Road
from dampkit.needs.simulate import Cases, Stops, cases_of
from dampkit.needs.wheel_curve import WheelCurves, curves_from, measured_curves, needed_curves
from dampkit.quantities import Array, read_only

WORN_SHARE = 0.5  # of the unit's force at every speed, for the worn unit beside it; own choice
RATE_SHARES = (0.8, 1.0, 1.25)  # of the corner's wheel rate, in the choice of comfort against grip
FORCE_SHARES = (0.5, 0.7, 1.0, 1.4, 2.0)  # of the unit's force
OTHER_ROADS = tuple(Road(c, v / 3.6) for c, v in product("ABCDE", (20, 60, 100, 130)))
MOST_RATIO = 10.0  # of critical, over which body and wheel are as one and the steps do not hold; own choice
MEASURED, NEEDED, WORN = "this unit", "as needed", "this unit worn to half its force"


@dataclass(frozen=True)
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

    All roads run side by side in one batch. Lost motion acts as free play of its mean width in every case but the
    needed one. Compression and extension stops act in all.
    """
    curves = measured_curves(fit, corner.motion_ratio)
    laws = [side.law for side in fit.sides if side.law is not None]
    if curves is None or len(laws) < 2:
        return None
    if float(held_slope(curves)[0]) > MOST_RATIO * corner.critical_damping_n_s_m:
        return None
    play = lost_motion_m(fit) / corner.motion_ratio
    names, few = _beside(corner, curves, need, play, stops)
    many, roads = _batch(corner, curves, few, play, road)
    ride = ride_on_road(many, roads)
    n, choices = len(names), len(RATE_SHARES) * len(FORCE_SHARES)
    fastest = corner.motion_ratio * float(ride.top_travel_speed_m_s[0])
    tested = min(law.top_m_s for law in laws)
    swings = pushed_down(_with_dead(few))
    return RideCheck(
        on=road,
        names=names,
        road=ride.part(slice(0, n)),
        kerb=over_kerb(few),
        bump=over_bump(few),
        push_swings_count=swings[:-1],
        dead_swings_count=float(swings[-1]),
        fastest_damper_m_s=fastest,
        within_test=fastest <= tested,
        play_m=play,
        stops=stops,
        choice=ride.part(slice(n, n + choices)),
        roads=ride.part(slice(n + choices, None)),
    )


def lost_motion_m(fit: Unit) -> float:
    """At the damper: mean of what both directions show; 0 where none was established."""
    known = [side.lost_motion_mm.value for side in fit.sides if side.lost_motion_mm is not None]
    return 1e-3 * max(0.0, sum(known) / len(known)) if known else 0.0


def _beside(
    corner: Corner, curves: WheelCurves, need: Need | None, play: float, stops: Stops | None
) -> tuple[tuple[str, ...], Cases]:
    """This unit, the needed one where it is known, and a worn one."""
    needed = () if need is None else (needed_curves(need, corner.motion_ratio),)
    together = curves
    for other in (*needed, curves.scaled(np.array([WORN_SHARE]))):
        together = together.beside(other)
    names = (MEASURED, NEEDED, WORN) if needed else (MEASURED, WORN)
    plays = np.array([0.0 if name == NEEDED else play for name in names])
    return names, cases_of(corner, together, play_m=plays, stops=stops)


def _batch(corner: Corner, curves: WheelCurves, few: Cases, play: float, road: Road) -> tuple[Cases, tuple[Road, ...]]:
    """The few on the chosen road, every choice on it, and this unit on all other roads."""
    rates, factors = np.meshgrid(RATE_SHARES, FORCE_SHARES, indexing="ij")
    chosen = curves.scaled(factors.ravel())
    elsewhere = curves.scaled(np.ones(len(OTHER_ROADS)))
    rate = np.concatenate([np.ones(few.curves.cases), rates.ravel(), np.ones(elsewhere.cases)])
    gaps = np.full(chosen.cases + elsewhere.cases, play)
    first = np.zeros(few.curves.cases) if few.play_m is None else few.play_m
    together = few.curves.beside(chosen).beside(elsewhere)
    many = cases_of(corner, together, corner.wheel_rate_n_m * rate, np.concatenate([first, gaps]), few.stops)
    return many, (road,) * (few.curves.cases + chosen.cases) + OTHER_ROADS


def _with_dead(few: Cases) -> Cases:
    """With one more case that has no damper at all."""
    dead = curves_from(np.zeros_like, 1.0)

    def longer(values: Array) -> Array:
        return read_only(np.append(values, values[0]))

    return replace(
        few,
        sprung_mass_kg=longer(few.sprung_mass_kg),
        unsprung_mass_kg=longer(few.unsprung_mass_kg),
        wheel_rate_n_m=longer(few.wheel_rate_n_m),
        tyre_rate_n_m=longer(few.tyre_rate_n_m),
        curves=few.curves.beside(dead),
        play_m=None if few.play_m is None else longer(few.play_m),
        spring_friction_n=None if few.spring_friction_n is None else longer(few.spring_friction_n),
    )
