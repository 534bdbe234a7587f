"""Measures of friction: its size, and a place in the stroke where there is more of it."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from dampkit.damper.declared import Damper, Duty, Kind
from dampkit.damper.points import noise_n
from dampkit.damper.stroke_friction import BLUR, PLACES, stroke_friction
from dampkit.faults.finding import Basis, Measure
from dampkit.faults.under_test import UnderTest
from dampkit.quantities import DIRECTIONS, Z95

# Published greatest friction by kind and duty: of car telescopics 55 N at up to 5 mm/s over a 20 mm stroke, no side load,
# and 150 N with a side load of 300 to 1200 N, as a strut has [qct491]; of a lever 10 lbf at its ball-pin, which turned a
# shaft in tight new bearings [testmemos1913]. None is known of trucks.
LIMIT_N = 55.0
STRUT_LIMIT_N = 150.0
LEVER_LIMIT_N = 44.5
PUBLISHED: dict[tuple[Kind, Duty], float] = {
    ("twin-tube", "car"): LIMIT_N,
    ("monotube", "car"): LIMIT_N,
    ("twin-tube", "strut"): STRUT_LIMIT_N,
    ("monotube", "strut"): STRUT_LIMIT_N,
    ("lever-arm", "car"): LEVER_LIMIT_N,
}
EVEN = 3.0  # standard uncertainties by which no reading may be off the common excess; own choice
EVEN_N = 2.0  # standard uncertainty of an excess that all speeds share: cell zero, gas force; common practice
TIGHT_N = 10.0  # of extra friction at one place; common practice, no source
TIGHT_SHARE = 0.35  # of the usual friction, where that is more; common practice, no source
PROFILE_N = 1.5  # standard uncertainty of a friction profile besides noise: guide finish, cell drift; common practice


def friction_measures(test: UnderTest) -> Iterator[Measure]:
    """Friction against the limit of its kind; the same newtons over the reference at every speed, both ways; extra
    friction at the tightest place of the slow pass, out and in alike.

    Source: [qct491] for the limit of telescopic dampers, [testmemos1913] for levers.
    """
    if test.kind == "friction-disc":
        return
    friction = test.unit.friction_force_n
    known = None if test.spec is None else friction_limit(test.spec.damper)
    if friction is not None and known is not None:
        limit, basis = known
        to_limit = friction.value - friction.low if friction.value > limit else friction.high - friction.value
        error = max(to_limit / Z95, 0.5)  # the interval need not be even: the side of it that faces the limit
        yield Measure("friction", friction.value, error, "N", limit, basis, stage=0)
    yield from _even_excess(test)
    yield from _tight_place(test)


def friction_limit(damper: Damper) -> tuple[float, Basis] | None:
    """Greatest friction of a sound unit [N] and where the figure comes from: declared, else published; else None."""
    if damper.friction_limit_n is not None:
        return damper.friction_limit_n, "declared"
    return None if damper.kind is None else limit_of_kind(damper.kind, damper.duty)


def limit_of_kind(kind: Kind, duty: Duty = "car") -> tuple[float, Basis] | None:
    """The published one; None where none is known."""
    limit = PUBLISHED.get((kind, duty))
    return None if limit is None else (limit, "published")


def _even_excess(test: UnderTest) -> Iterator[Measure]:
    """What every reading of both directions lies over the reference in common; 0 where they are not over it alike.

    A valve that is set otherwise differs with speed and by direction; only rubbing adds the same newtons everywhere.
    Source: own, from Coulomb friction.
    """
    if len(test.differs) < len(DIRECTIONS):
        return
    both = [test.differs[d] for d in DIRECTIONS]
    over, error, room = (np.concatenate(x) for x in zip(*((d.measured_n - d.wanted_n, d.error_n, d.allowance_n) for d in both), strict=True))  # fmt: skip
    weight = 1 / error**2
    common = float(over @ weight / weight.sum())
    even = bool(np.all(np.abs(over - common) < EVEN * error))
    doubt = float(np.hypot(EVEN_N, weight.sum() ** -0.5))
    yield Measure("even_excess", common if even else 0.0, doubt, "N", float(room.min()), "own reference")


def _tight_place(test: UnderTest) -> Iterator[Measure]:
    loop = test.slow_pass
    if loop is None:
        return
    profile = stroke_friction(loop, test.unit)
    x, out, back, both = profile.place_m, profile.out_n, profile.back_n, profile.both_n
    at = int(np.argmax(both))
    extra = min(float(out[at] - np.median(out)), float(back[at] - np.median(back)))
    usual = float(np.median(both))
    rows_averaged = BLUR * max(1.0, loop.velocity_m_s.size / 2 / PLACES)
    noise = 1.25 * noise_n(loop, test.curves.run.force_resolution_n) / rows_averaged**0.5
    yield Measure(
        "tight_place", extra, float(np.hypot(noise, PROFILE_N)), "N", max(TIGHT_N, TIGHT_SHARE * usual),
        "common practice", stage=loop.stage.index, figures=(("place_m", float(x[at])),),
    )  # fmt: skip
