"""Whether the temperature can be one: impossible, of an open probe, leaping, or standing still while work is done."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from dampkit.bench.run import Quality, Run, Step
from dampkit.quantities import Array, distinct, median, medians, number, read_only, running_integral

LOWEST_C, HIGHEST_C = -30.0, 150.0  # of a damper on a bench; common practice, no source
ODD_SHARE = 0.01  # of the readings; more, and the channel is not used
LEAP_K_S = 20.0  # own: 3 kW into the least heat capacity warms a body by under 10 K/s
LOOK_S = 0.5  # readings are compared by their middle over so long
BODY_J_K = 700.0  # most of a car's damper; common practice, no source
WARMS_K = 3.0
OPEN_C = 0.0  # what an input without a probe may write all along
FREEZING_C = (200.0, 423.0)  # readings that are kelvin of a possible temperature


def with_trusted_temperature(run: Run) -> Run:
    """The run with its temperature, cleared of wild readings, or without it where it cannot be one."""
    if run.temperature_c is None:
        return run
    wrong = _impossible(run.temperature_c) or _leaps(run)
    if wrong is not None:
        said = f"{wrong} It was not used: forces are not brought to one temperature and fade is not judged by it."
        said += " Check the probe, its plug and its type, or leave the column out."
        step = Step("temperature not used", "no damper on a bench has it")
        return run.then(step, temperature_c=None, quality=(*run.quality, _warning("temperature_impossible", said)))
    odd = _outside(run.temperature_c)
    if odd.any():
        there = np.flatnonzero(~odd)
        bridged = np.interp(np.arange(odd.size), there, run.temperature_c[there])
        step = Step("wild temperatures bridged", "outside what a damper can have", (("rows", int(odd.sum())),))
        return run.then(step, temperature_c=read_only(bridged))
    stuck = _stuck(run)
    return replace(run, quality=(*run.quality, *stuck)) if stuck else run


def _warning(code: str, message: str) -> Quality:
    return Quality(code, "warning", message)


def _outside(temperature_c: Array) -> np.ndarray:
    return ~((temperature_c >= LOWEST_C) & (temperature_c <= HIGHEST_C))


def _impossible(temperature_c: Array) -> str | None:
    """What is wrong with the level of the readings, or None."""
    low, high = float(np.nanmin(temperature_c)), float(np.nanmax(temperature_c))
    if low == high == OPEN_C:
        return "The temperature reads exactly 0 \N{DEGREE SIGN}C in every row, as an input without a probe does."
    if _outside(temperature_c).mean() <= ODD_SHARE:
        return None
    kelvin = FREEZING_C[0] < low and high < FREEZING_C[1] and low > HIGHEST_C
    hint = " (kelvin read as degrees Celsius? State it in bench.toml: [units] temperature)" if kelvin else ""
    return (
        f"The temperature reads {number(low)} to {number(high)} \N{DEGREE SIGN}C{hint}; no damper on a bench has that."
    )


def _leaps(run: Run) -> str | None:
    """A change of level that no body makes: the middle over a moment against that of the moment before the last."""
    rows = max(3, round(LOOK_S / run.sample_interval_s))
    blocks = run.rows_used // rows
    if blocks < 4 or run.temperature_c is None:
        return None
    middle = medians(run.temperature_c[: blocks * rows].reshape(blocks, rows))
    at = run.time_s[rows // 2 : blocks * rows : rows]
    change, time = np.abs(middle[2:] - middle[:-2]), at[2:] - at[:-2]
    leaps = np.flatnonzero(change > LEAP_K_S * time)
    if not leaps.size:
        return None
    first = int(leaps[0])
    return (
        f"The temperature leaps by {number(float(change[first]), 2)} K within {number(float(time[first]), 2)} s"
        f" at {number(float(at[first + 1]), 4)} s; oil and metal cannot do that."
    )


def _stuck(run: Run) -> list[Quality]:
    """A reading that does not move by the step it is written in although the work done would warm the unit."""
    assert run.temperature_c is not None
    levels = distinct(run.temperature_c)
    step = float(np.diff(levels).min()) if levels.size > 1 else 0.0
    if levels.size > 2 or step > WARMS_K:
        return []
    force = run.force_n - median(run.force_n)  # so that an offset of the cell does no work
    work_j = abs(float(running_integral(force, run.displacement_m)[-1]))
    if work_j < BODY_J_K * (WARMS_K + step):
        return []
    return [
        _warning(
            "temperature_stuck",
            f"The temperature stays at {number(float(levels[0]), 4)} \N{DEGREE SIGN}C while {work_j / 1000:.1f} kJ of work"
            f" are done, enough to warm a damper by {work_j / BODY_J_K:.0f} to {2 * work_j / BODY_J_K:.0f} K:"
            " the probe is stuck, or was read once. Take it with doubt; read it at the body before and after.",
        )
    ]
