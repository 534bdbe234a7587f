"""Friction-disc dampers: glazed, sticking or greased discs."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from dampkit.curves.loop import Loop
from dampkit.damper.points import SLOW_M_S
from dampkit.faults.finding import Finding
from dampkit.faults.judge import PRACTICE, Case, Measure, finding

REFERENCE = "the unit's own reference and its tolerance"
STICK_LIMIT = 1.3  # common practice, from memory: force to start over sliding force of about 1.2 to 1.3 is sticking
GREASE_LIMIT = 0.10  # own: share of the force gained per metre a second; a dry pair hardly changes with speed
READING_SHARE = 0.02  # of a force


@dataclass(frozen=True)
class Rub:
    """Friction against speed: F = sliding + rise v, mid-stroke of the moving stages, both directions averaged."""

    sliding_n: float
    rise_n_s_m: float
    rise_error_n_s_m: float
    start_n: float | None  # force just after the turn of the slow pass, both turns averaged


def glazed_discs(case: Case) -> Finding | None:
    """Less friction than when good, alike at every speed: glazed face or slack clamp. Source: own, trade practice."""
    reference = None if case.spec is None else case.spec.reference
    rub = rubbing(case)
    if reference is None or rub is None:
        return None
    v = np.array(reference.velocity_m_s)
    wanted = float(np.mean(0.5 * (np.array(reference.rebound_force_n) + np.array(reference.compression_force_n))))
    made = float(np.mean(rub.sliding_n + rub.rise_n_s_m * v))
    slack = max(0.01 * reference.tolerance_percent, reference.tolerance_floor_n / wanted)
    measure = Measure("force over the reference", made / wanted, READING_SHARE, "", 1 - slack, REFERENCE, "below")
    sentence = (
        f"Discs glazed or clamp slack: force is {100 * (1 - made / wanted):.0f} % under the reference at every speed"
    )
    return finding("glazed_discs", [measure], sentence)


def sticking_discs(case: Case) -> Finding | None:
    """Force to start well over the force to keep sliding. Source: own, trade practice; needs a slow pass."""
    rub = rubbing(case)
    if rub is None or rub.start_n is None:
        return None
    ratio = rub.start_n / rub.sliding_n
    measure = Measure("force to start over sliding force", ratio, READING_SHARE, "", STICK_LIMIT, PRACTICE)
    return finding("sticking_discs", [measure], f"Discs stick: it takes {ratio:.2f} times the sliding force to start")


def greased_discs(case: Case) -> Finding | None:
    """Force that grows with speed, as of an oily film. Source: own: dry friction is independent of speed."""
    rub = rubbing(case)
    if rub is None:
        return None
    share = rub.rise_n_s_m / rub.sliding_n
    measure = Measure(
        "force gained per m/s over the sliding force", share, max(rub.rise_error_n_s_m / rub.sliding_n, 0.01), "s/m",
        GREASE_LIMIT, "statistical",
    )  # fmt: skip
    return finding("greased_discs", [measure], f"Discs greased: force grows by {100 * share:.0f} % per m/s of speed")


def rubbing(case: Case) -> Rub | None:
    """Friction of a disc unit; None with fewer than three moving stages."""
    loops = [loop for loop in case.curves.loops if loop.peak_velocity_m_s >= SLOW_M_S]
    if len(loops) < 3:
        return None
    v = np.array([loop.peak_velocity_m_s for loop in loops])
    force = np.array([_middle_n(loop) for loop in loops])
    design = np.stack([np.ones_like(v), v], axis=1)
    solved, *_ = np.linalg.lstsq(design, force, rcond=None)
    rest = force - design @ solved
    error = float(np.sqrt(rest @ rest / max(v.size - 2, 1) * np.linalg.inv(design.T @ design)[1, 1]))
    return Rub(float(solved[0]), float(solved[1]), error, None if case.slow_pass is None else _start_n(case.slow_pass))


def _middle_n(loop: Loop) -> float:
    """Half the difference of the forces near mid-stroke, out and in."""
    fast = np.abs(loop.velocity_m_s) > 0.9 * loop.peak_velocity_m_s
    force = loop.mean_force_n
    return 0.5 * float(force[fast & (loop.velocity_m_s > 0)].mean() - force[fast & (loop.velocity_m_s < 0)].mean())


def _start_n(loop: Loop) -> float:
    """Half the difference of the greatest force out and in: breakaway stands just after each turn."""
    force = loop.mean_force_n
    return 0.5 * float(np.partition(force, -3)[-3] - np.partition(force, 2)[2])
