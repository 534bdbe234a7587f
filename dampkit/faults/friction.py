"""Measures of friction: its size, and a place in the stroke where there is more of it."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from dampkit.damper.declared import DamperSpec
from dampkit.damper.kinds import STRUT_SIDE_N, facts_of
from dampkit.damper.points import noise_n
from dampkit.damper.stroke_friction import BLUR, PLACES, stroke_friction
from dampkit.faults.finding import Basis, Measure
from dampkit.faults.under_test import UnderTest
from dampkit.quantities import DIRECTIONS, Z95, Array, median

EVEN = 3.0  # standard uncertainties by which no reading may be off the common excess; own choice
LEAST_SPEEDS = 2  # of the reference in each direction, from which the same newtons are told from a setting; own choice
EVEN_N = 2.0  # standard uncertainty of an excess that all speeds share: cell zero, gas force; common practice
TIGHT_N = 10.0  # of extra friction at one place; common practice, no source
TIGHT_SHARE = 0.35  # of the usual friction, where that is more; common practice, no source
PROFILE_N = 1.5  # standard uncertainty of a friction profile besides noise: guide finish, cell drift; common practice


def friction_measures(test: UnderTest) -> Iterator[Measure]:
    """Friction against the limit of its kind; the same newtons over the reference at every speed, both ways; extra
    friction at the tightest place of the slow pass, out and in alike.

    Source: by kind in `damper/kinds.py`.
    """
    if not test.facts.oil:
        return
    friction = test.unit.friction_force_n
    known = None if test.spec is None else friction_limit(test.spec)
    if friction is not None and known is not None:
        limit, basis = known
        to_limit = friction.value - friction.low if friction.value > limit else friction.high - friction.value
        error = max(to_limit / Z95, 0.5)  # the interval need not be even: the side of it that faces the limit
        yield Measure("friction", friction.value, error, "N", limit, basis, stage=0)
    yield from _even_excess(test)
    yield from _tight_place(test)


def friction_limit(spec: DamperSpec) -> tuple[float, Basis] | None:
    """Greatest friction of a sound unit [N] and where the figure comes from: declared, else of its kind; else None.

    A strut pulled straight is held to a telescopic's; with a side load up to the published one, or one that is not told,
    to what is published for that load, since less of it rubs less. Beyond it none is known.
    """
    damper, strut = spec.damper, spec.strut
    if damper.friction_limit_n is not None:
        return damper.friction_limit_n, "declared"
    straight = strut is not None and strut.side_load_n == 0
    if strut is not None and strut.side_load_n > STRUT_SIDE_N[1]:
        return None
    duty = "car" if damper.duty == "strut" and straight else damper.duty
    return facts_of(damper.kind).friction_limit_n.get(duty)


def held_against(test: UnderTest) -> tuple[Array, Array, Array] | None:
    """What every reading of both directions lies over the reference, its standard uncertainty, and the allowance, N.

    None with fewer than two speeds of the reference read in a direction, less sure ones than their window left out, or where
    its forces are so even that the same newtons more could not be told from the same share more.
    """
    read = [(p, p.measured_n) for p in test.compared if p.measured_n is not None]
    read = [(p, m) for p, m in read if m.half_width < p.high_n - p.wanted_n]
    if any(sum(p.direction == d for p, _ in read) < LEAST_SPEEDS for d in DIRECTIONS):
        return None
    if len(test.differs) == len(DIRECTIONS):
        columns = []
        for d in test.differs.values():
            known = {p.velocity_m_s for p, _ in read if p.direction == d.direction}
            sure = [v in known for v in d.velocity_m_s]
            columns.append([x[sure] for x in (d.measured_n - d.wanted_n, d.error_n, d.allowance_n)])
        over, error, room = (np.concatenate(x) for x in zip(*columns, strict=True))
        return over, error, room
    rows = [(m.value - p.wanted_n, m.half_width / Z95, p.high_n - p.wanted_n, p.wanted_n) for p, m in read]
    over, error, room, wanted = np.array(rows).T
    in_proportion = wanted * float(over.mean() / wanted.mean())
    told = float(np.ptp(in_proportion)) > 2 * EVEN * float(error.max()) or not over.mean() > float(room.min())
    return (over, error, room) if told else None


def _even_excess(test: UnderTest) -> Iterator[Measure]:
    """What every reading of both directions lies over the reference in common; 0 where they are not over it alike.

    A valve that is set otherwise differs with speed and by direction; only rubbing adds the same newtons everywhere, and no
    more of them than the unit rubs. Source: own, from Coulomb friction.
    """
    held = held_against(test)
    if held is None:
        return
    over, error, room = held
    weight = 1 / error**2
    common = float(over @ weight / weight.sum())
    even = bool(np.all(np.abs(over - common) < EVEN * error))
    rubs = test.unit.friction_force_n
    if rubs is not None:
        common = min(common, rubs.high)
    doubt = float(np.hypot(EVEN_N, weight.sum() ** -0.5))
    yield Measure("even_excess", common if even else 0.0, doubt, "N", float(room.min()), "own reference")


def _tight_place(test: UnderTest) -> Iterator[Measure]:
    loop = test.slow_pass
    if loop is None:
        return
    profile = stroke_friction(loop, test.unit)
    x, out, back, both = profile.place_m, profile.out_n, profile.back_n, profile.both_n
    at = int(np.argmax(both))
    extra = min(float(out[at] - median(out)), float(back[at] - median(back)))
    usual = median(both)
    rows_averaged = BLUR * max(1.0, loop.velocity_m_s.size / 2 / PLACES)
    noise = 1.25 * noise_n(loop, test.curves.run.force_resolution_n) / rows_averaged**0.5
    yield Measure(
        "tight_place", extra, float(np.hypot(noise, PROFILE_N)), "N", max(TIGHT_N, TIGHT_SHARE * usual),
        "common practice", stage=loop.stage.index, figures=(("place_m", float(x[at])),),
    )  # fmt: skip
