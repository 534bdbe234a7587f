"""Measures of friction: its size, and a place in the stroke where there is more of it."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from dampkit.damper.points import noise_n
from dampkit.damper.stroke_friction import BLUR, PLACES, stroke_friction
from dampkit.faults.finding import Basis, Measure
from dampkit.faults.under_test import UnderTest
from dampkit.quantities import Z95

# Friction limit by kind: 55 N at up to 5 mm/s over a 20 mm stroke, no side load [qct491]; a lever's shaft and arm make
# less at the eye, but no published limit is known: common practice, no source.
LIMIT_N = 55.0
LEVER_LIMIT_N = 40.0
TIGHT_N = 10.0  # of extra friction at one place; common practice, no source
TIGHT_SHARE = 0.35  # of the usual friction, where that is more; common practice, no source
PROFILE_N = 1.5  # standard uncertainty of a friction profile besides noise: guide finish, cell drift; common practice


def friction_measures(test: UnderTest) -> Iterator[Measure]:
    """Friction against the limit of its kind; extra friction at the tightest place of the slow pass, out and in alike.

    Source: [qct491] for the limit of telescopic dampers.
    """
    if test.kind == "friction-disc":
        return
    friction = test.unit.friction_force_n
    if friction is not None:
        limit, basis = friction_limit(test.kind)
        to_limit = friction.value - friction.low if friction.value > limit else friction.high - friction.value
        error = max(to_limit / Z95, 0.5)  # the interval need not be even: the side of it that faces the limit
        yield Measure("friction", friction.value, error, "N", limit, basis, stage=0)
    yield from _tight_place(test)


def friction_limit(kind: str | None) -> tuple[float, Basis]:
    """Greatest friction of a sound unit [N], and where the figure comes from."""
    return (LEVER_LIMIT_N, "common practice") if kind == "lever-arm" else (LIMIT_N, "published")


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
