"""Friction tied to a place in the stroke: bent rod, scored bore."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from dampkit.curves.loop import Loop
from dampkit.damper.points import noise_n
from dampkit.damper.stroke_friction import BLUR, PLACES, stroke_friction
from dampkit.faults.finding import Finding
from dampkit.faults.judge import PRACTICE, Case, Measure, finding

LIMIT_N = 10.0  # of extra friction at one place; common practice, no source
LIMIT_SHARE = 0.35  # of the usual friction, where that is more; common practice, no source
FAULTLESS_N = 1.5  # standard uncertainty of a friction profile besides noise: guide finish, cell drift; common practice


@dataclass(frozen=True)
class Tight:
    """Extra friction at the tightest place over the usual one, in the direction that shows less of it."""

    extra_n: float
    uncertainty_n: float
    usual_n: float
    at_m: float


def bent_rod(case: Case) -> Finding | None:
    """A hump of friction at one place, the same place out and in, in the slow pass.

    Half of the difference between the ways out and in is friction at each place; a hump must stand in both ways,
    so a valve's or a cell's fault in one direction does not make one.
    Source: own, after trade practice: position-locked friction shows slow and is buried at speed. Confused with high
    friction (alike over the stroke) and lost motion (at the ends). Separated by the slow pass; turning the rod moves it.
    """
    loop = case.slow_pass
    if loop is None or case.kind == "friction-disc":
        return None
    tight = tight_place(case, loop)
    limit = max(LIMIT_N, LIMIT_SHARE * tight.usual_n)
    measure = Measure(
        "friction at the tightest place over the usual, less of out and in",
        tight.extra_n, tight.uncertainty_n, "N", limit, PRACTICE,
    )  # fmt: skip
    sentence = (
        f"Rod bent or bore scored: {tight.extra_n:.0f} N more friction at {1e3 * tight.at_m:+.0f} mm from mid-stroke"
        ", out and in alike"
    )
    return finding("bent_rod", [measure], sentence, loop.stage.index)


def tight_place(case: Case, loop: Loop) -> Tight:
    """The tightest place of a slow pass."""
    profile = stroke_friction(loop, case.damper)
    x, out, back, both = profile.place_m, profile.out_n, profile.back_n, profile.both_n
    at = int(np.argmax(both))
    extra = min(float(out[at] - np.median(out)), float(back[at] - np.median(back)))
    rows_averaged = BLUR * max(1.0, loop.velocity_m_s.size / 2 / PLACES)
    noise = 1.25 * noise_n(loop, case.curves.run.force_resolution_n) / rows_averaged**0.5
    return Tight(extra, float(np.hypot(noise, FAULTLESS_N)), float(np.median(both)), float(x[at]))
