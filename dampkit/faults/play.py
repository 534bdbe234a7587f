"""Play: travel at no force at all, at both reversals, the same at every speed."""

from __future__ import annotations

import numpy as np

from dampkit.curves.loop import Loop
from dampkit.damper.points import SMOOTH, noise_n, smoothed
from dampkit.damper.uncertainty import row_noise_n
from dampkit.faults.finding import Finding
from dampkit.faults.judge import PRACTICE, Case, Measure, finding
from dampkit.quantities import Array, Mask

PLAY_LIMIT_MM = 0.4  # common practice, no source: play that a hand feels at an eye
FOLLOWS_BELOW_M_S = 0.15  # own: below it a gas-charged rod follows the bench through the slack
READING_MM = 0.08  # standard uncertainty of a travel read off a loop of 512 points
BAND = 4.0  # standard deviations of the smoothed force within which it counts as none
OF_PEAK = 0.003  # of the peak force, at least: what a cell's resolution and drift leave; common practice
BELOW_FRICTION = 0.5  # the band must be so much narrower than friction, or a void looks alike


def play_mm(case: Case) -> tuple[float, float] | None:
    """Play [mm] with its standard uncertainty; None where no stage can show it.

    In a damper the force passes zero at once, or stands at friction level over a void. Only slack lets the bench move
    while the cell reads nothing, after both reversals and alike at every speed. Gas force above friction makes the rod
    follow the bench through the slack: then one reversal shows too little and the other too much, the more the slower,
    so the mean of both is read on faster stages.
    Source: own. Confused with a void (stands at friction level, one direction first) and bubbles (curved).
    """
    value = {"gas": case.damper.gas_force_n, "friction": case.damper.friction_force_n}
    gas, friction = (0.0 if v is None else abs(v.value) for v in value.values())
    follows = gas > friction
    loops = [loop for loop in case.moving if not follows or loop.peak_velocity_m_s > FOLLOWS_BELOW_M_S]
    read = [
        _over_stages([_slack_mm(loop, case, friction, mass) for loop in loops], follows) for mass in _masses_kg(case)
    ]
    return max((r for r in read if r is not None), default=None)


def _over_stages(read: list[float | None], follows: bool) -> tuple[float, float] | None:
    """Play of all stages with its standard uncertainty; None where none shows it."""
    seen = [s for s in read if s is not None]
    if not seen:
        return None
    middle = sorted(seen)[-2] if follows and len(seen) > 1 else float(np.median(seen))
    spread = 1.4826 * float(np.median(np.abs(np.array(seen) - middle)))
    return middle, float(np.hypot(READING_MM, 0.0 if follows else spread / len(seen) ** 0.5))


def loose_mount(case: Case) -> Finding | None:
    """Slack in an eye, a bush, an arm's spline or the piston nut. Source: own; see `play_mm`."""
    play = play_mm(case)
    if play is None:
        return None
    measures = [Measure("travel at zero force after both reversals", *play, "mm", PLAY_LIMIT_MM, PRACTICE)]
    where = "spline, link or eye of the arm" if case.kind == "lever-arm" else "mount or bush, or piston nut"
    sentence = (
        f"Play: {play[0]:.1f} mm of travel at no force in both directions, the same at every speed (loose {where})"
    )
    return finding("loose_mount", measures, sentence, case.moving[-1].stage.index)


def _slack_mm(loop: Loop, case: Case, friction_n: float, mass_kg: float) -> float | None:
    """Mean travel at no force after the two reversals; None where the force keeps its sign or is too rough.

    Nothing where one reversal has none: slack shows at both.
    """
    resolution = case.curves.run.force_resolution_n
    force = smoothed(loop.mean_force_n - mass_kg * loop.acceleration_m_s2)
    still = max(BAND * _noise_n(loop, case), resolution, OF_PEAK * float(np.abs(force).max()))
    if still > BELOW_FRICTION * friction_n or force.max() < 3 * still or force.min() > -3 * still:
        return None
    idle = np.abs(force) < still
    start = int(np.argmax(force))
    idle, x, force = np.roll(idle, -start), np.roll(loop.displacement_m, -start), np.roll(force, -start)
    down = int(np.argmin(force))
    both = _longest(idle[:down], x[:down]), _longest(idle[down:], x[down:])
    return 1e3 * 0.5 * sum(both) if min(both) > 0 else 0.0


def _noise_n(loop: Loop, case: Case) -> float:
    """Standard deviation of the smoothed force.

    In a dry joint, which has no force between none and sliding, rows far apart may lend their noise to several points
    at once, and the band may be as wide as that asks; an oil damper's force comes through nothing slowly.
    """
    if case.kind != "friction-disc":
        return noise_n(loop, case.curves.run.force_resolution_n) / float(np.sqrt(SMOOTH))
    stage = loop.stage
    averaged = float(max(stage.cycles, SMOOTH * (stage.stop - stage.start) / loop.velocity_m_s.size))
    return row_noise_n(case.curves.run, stage.start, stage.stop) / float(np.sqrt(averaged))


def _masses_kg(case: Case) -> tuple[float, ...]:
    """Mass between cell and damper, whose inertia is read while the slack is open: as declared, or none and as fitted.

    Slack itself may look like mass to the fit, so the fitted one is not trusted alone.
    """
    declared, fitted = case.curves.run.moving_mass_kg, case.damper.moving_mass_kg
    if declared:
        return (declared,)
    return (0.0, fitted.value) if fitted is not None and fitted.low > 0 else (0.0,)


def _longest(idle: Mask, x: Array) -> float:
    """Longest travel over which the force is none."""
    edges = np.flatnonzero(np.diff(np.concatenate([[0], idle.astype(int), [0]])))
    return max((float(np.ptp(x[a:b])) for a, b in zip(edges[::2], edges[1::2], strict=True)), default=0.0)
