"""Friction tied to a place in the stroke: bent rod, scored bore."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from dampkit.curves.loop import Loop
from dampkit.damper.points import noise_n
from dampkit.faults.finding import Finding
from dampkit.faults.judge import PRACTICE, Case, Measure, finding
from dampkit.quantities import Array

LIMIT_N = 10.0  # of extra friction at one place; common practice, no source
LIMIT_SHARE = 0.35  # of the usual friction, where that is more; common practice, no source
INSIDE = 0.8  # of the half-stroke: the ends hold the take-up after a reversal
PLACES = 61
BLUR = 3  # places averaged
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
    out, back = friction_by_place(case, loop)
    x = _places(loop)
    both = 0.5 * (out + back)
    at = int(np.argmax(both))
    extra = min(float(out[at] - np.median(out)), float(back[at] - np.median(back)))
    rows_averaged = BLUR * max(1.0, loop.velocity_m_s.size / 2 / PLACES)
    noise = 1.25 * noise_n(loop, case.curves.run.force_resolution_n) / rows_averaged**0.5
    return Tight(extra, float(np.hypot(noise, FAULTLESS_N)), float(np.median(both)), float(x[at]))


def friction_by_place(case: Case, loop: Loop) -> tuple[Array, Array]:
    """Resisting force on the way out and the way in at equal places, gas taken out and the valve's part too."""
    damper = case.damper
    gas = 0.0 if damper.gas_force_n is None else damper.gas_force_n.value
    force = loop.mean_force_n + gas - (damper.gas_stiffness_n_m or 0.0) * loop.displacement_m
    ways = []
    for sign, fit in ((1.0, damper.rebound), (-1.0, damper.compression)):
        rows = sign * loop.velocity_m_s > 0
        valve = 0.0 if fit is None else fit.valve.force(np.abs(loop.velocity_m_s[rows]))
        order = np.argsort(loop.displacement_m[rows])
        resisting = (sign * force[rows] - valve)[order]
        ways.append(_blurred(np.interp(_places(loop), loop.displacement_m[rows][order], _running(resisting))))
    return ways[0], ways[1]


def _places(loop: Loop) -> Array:
    middle = 0.5 * float(loop.displacement_m.max() + loop.displacement_m.min())
    return middle + INSIDE * 0.5 * float(np.ptp(loop.displacement_m)) * np.linspace(-1, 1, PLACES)


def _running(values: Array) -> Array:
    return np.convolve(np.pad(values, 2, mode="edge"), np.full(5, 0.2), mode="valid")


def _blurred(values: Array) -> Array:
    return np.convolve(np.pad(values, BLUR // 2, mode="edge"), np.full(BLUR, 1 / BLUR), mode="valid")
