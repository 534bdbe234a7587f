"""What the loops show about the bench: a drive that slows, a stop that is met, first cycles, repeats, temperature."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from dampkit.bench.run import Quality, Run
from dampkit.curves.loop import Loop
from dampkit.quantities import Array, Mask, distinct, median, not_negative_fit, number, running_integral

SAME_STROKE = 0.03
SAME_SPEED = 0.05
SLOWS = 0.01  # of the stroke by which a loaded stage's motion leaves the calmest stage's; common practice, no source
DIFFERS = 0.06  # of the work of a later cycle, by which a first one differs; common practice, no source
REPEATS = 0.03  # of the work per cycle, within which a repeated speed agrees; common practice, no source
STOP_N = 30.0  # least force that tells a stop ...
STOP_SHARE = 0.3  # ... and least share of the stage's largest force
OUTERMOST, INSIDE = 0.004, (0.06, 0.10)  # shares of the stroke from its end: where the stop is felt, and where not yet
DRIFT_K = 1.0  # change of temperature without work or cooling that is told; common practice, no source
TEMPERATURE_ROWS = 400


def loop_checks(run: Run, loops: tuple[Loop, ...]) -> list[Quality]:
    """A remark for each flaw of the bench that the loops show."""
    return [*_drive_slows(loops), *_stop_met(loops), *_first_cycles(loops), *_repeat(loops), *_temperature(run)]


def _like(loops: Sequence[Loop], stroke_m: float) -> list[Loop]:
    return [loop for loop in loops if abs(loop.stage.stroke_m / stroke_m - 1) < SAME_STROKE]


def _drive_slows(loops: tuple[Loop, ...]) -> list[Quality]:
    """Motion of a loaded stage against that of the least loaded one at the same stroke: the crank is the same for both."""
    worst: tuple[float, Loop | None] = (0.0, None)
    for stroke in {round(loop.stage.stroke_m, 3) for loop in loops}:
        same = _like(loops, stroke) if stroke else []
        if len(same) < 2:
            continue
        calm, *others = sorted(same, key=lambda loop: float(np.mean(loop.energy_j)) * loop.stage.frequency_hz)
        off = [(float(np.abs(_shape(loop) - _shape(calm)).max()), loop) for loop in others]
        worst = max(worst, *off, key=lambda w: w[0])
    share, loop = worst
    if loop is None or share < SLOWS:
        return []
    return [
        Quality(
            "drive_slows",
            "warning",
            f"The drive slows under load: at {number(loop.peak_velocity_m_s)} m/s the motion leaves that of the calmest stage"
            f" by {100 * share:.1f} % of the stroke. Speeds were taken from the measured displacement, not from the crank.",
        )
    ]


def _shape(loop: Loop) -> Array:
    return np.asarray((loop.displacement_m - loop.displacement_m.mean()) / loop.stage.stroke_m)


def _stop_met(loops: tuple[Loop, ...]) -> list[Quality]:
    """Force that springs up at one end of the longest stroke and lets go on the way back: no valve or friction does that.

    The way towards the end tells: there friction and valve hold steady or fall off as the speed does.
    """
    longest = _like(loops, max(loop.stage.stroke_m for loop in loops))
    slowest = min(longest, key=lambda loop: loop.peak_velocity_m_s)
    force = slowest.mean_force_n
    least = max(STOP_N, STOP_SHARE * float(np.abs(force - force.mean()).max()))
    share = (slowest.displacement_m - slowest.displacement_m.min()) / np.ptp(slowest.displacement_m)
    out = []
    for end, from_end, sign in (("extension", 1 - share, 1.0), ("compression", share, -1.0)):
        there, back = (_rise(sign * force, from_end, sign * way * slowest.velocity_m_s > 0) for way in (1, -1))
        if there > least and back > 0.5 * least:
            out.append(
                Quality(
                    "stop_met",
                    "warning",
                    f"At the end of {end} the force springs up by {there:.0f} N in the last few millimetres of the"
                    f" {1000 * slowest.stage.stroke_m:.0f} mm stroke, and lets go on the way back: the unit or the bench"
                    " meets a stop. Set the middle of the stroke or shorten it; never run a unit into its stop.",
                )
            )
    return out


def _rise(force_n: Array, from_end: Array, way: Mask) -> float:
    """Force at the very end of the stroke over that a little inside, along one way; 0 where no points tell."""
    end, inside = way & (from_end <= OUTERMOST), way & (from_end >= INSIDE[0]) & (from_end <= INSIDE[1])
    return float(force_n[end].mean() - force_n[inside].mean()) if end.any() and inside.any() else 0.0


def _first_cycles(loops: tuple[Loop, ...]) -> list[Quality]:
    """First cycles whose work is not that of the cycles after them."""
    found = [
        (float(loop.energy_j[0] / np.mean(loop.energy_j[1:]) - 1), loop)
        for loop in loops
        if loop.run_in_force_n.size and np.mean(loop.energy_j[1:]) > 0
    ]
    odd = [(share, loop) for share, loop in found if abs(share) > DIFFERS]
    if not odd:
        return []
    share, loop = max(odd, key=lambda o: abs(o[0]))
    return [
        Quality(
            "first_cycle_differs",
            "note",
            f"First cycles after a rest differ in {len(odd)} of {len(found)} stages: at {number(loop.peak_velocity_m_s)} m/s"
            f" the first one does {abs(100 * share):.0f} % {'less' if share < 0 else 'more'} work than the rest."
            " First cycles are left out of the loops; stroke the unit a dozen times before testing.",
        )
    ]


def _repeat(loops: tuple[Loop, ...]) -> list[Quality]:
    """Whether the first speed was run again, and how well it came back."""
    again = [(a, b) for i, a in enumerate(loops) for b in loops[i + 1 :] if _alike(a, b)]
    if not again:
        return [
            Quality(
                "no_repeat",
                "note",
                "No speed was run twice, so drift and warming up during the test are not established.",
            )
        ]
    off = [(median(b.energy_j) / median(a.energy_j) - 1, a) for a, b in again]
    share, loop = max(off, key=lambda o: abs(o[0]))
    if abs(share) < REPEATS:
        return []
    return [
        Quality(
            "repeat_differs",
            "warning",
            f"Run again at {number(loop.peak_velocity_m_s)} m/s, the unit does {abs(100 * share):.1f} %"
            f" {'less' if share < 0 else 'more'} work per cycle than before: unit or bench changed during the test.",
        )
    ]


def _alike(a: Loop, b: Loop) -> bool:
    speed, stroke = a.peak_velocity_m_s / b.peak_velocity_m_s, a.stage.stroke_m / b.stage.stroke_m
    return max(abs(speed - 1), abs(stroke - 1)) < SAME_SPEED


def _temperature(run: Run) -> list[Quality]:
    """No temperature, or one that moves without the work or the cooling that would move it."""
    if all(part.temperature_c is None for part in run.parts or (run,)):
        return [
            Quality(
                "no_temperature",
                "note",
                "No temperature in the log: compare only with units tested as warm as this one.",
            )
        ]
    drift = max((_drift_k(part) for part in run.parts or (run,)), key=abs)
    if abs(drift) < DRIFT_K:
        return []
    return [
        Quality(
            "temperature_drifts",
            "warning",
            f"The temperature moves by {drift:+.1f} K over the run without work or cooling that would explain it:"
            " the probe drifts, or the unit was not at the temperature of the room. Take temperatures with care.",
        )
    ]


def _drift_k(run: Run) -> float:
    """Of one recording; what happens between two of them is not in the log."""
    if run.temperature_c is None:
        return 0.0
    return temperature_drift_k(run.time_s, run.temperature_c, run.displacement_m, run.force_n)


def temperature_drift_k(time_s: Array, temperature_c: Array, displacement_m: Array, force_n: Array) -> float:
    """Change of temperature over the run [K] that goes with time alone, not with work done or heat lost; all shape (N,).

    T - T0 = a work - b integral(T - T0) + c t with a, b >= 0, least squares. Source: own; lumped heat balance of a body.
    """
    work = running_integral(force_n, displacement_m)
    few = distinct(np.linspace(0, time_s.size - 1, TEMPERATURE_ROWS).astype(np.intp))
    rise = temperature_c[few] - median(temperature_c[: max(1, time_s.size // 100)])
    t = (time_s[few] - time_s[0]) / max(float(time_s[-1] - time_s[0]), 1e-9)
    heat = np.maximum.accumulate(work[few] - work[0]) / max(float(np.ptp(work[few])), 1e-12)
    lost = -running_integral(rise, t)
    return float(not_negative_fit(np.stack([heat, lost, t], axis=1), rise, free=1)[2])
