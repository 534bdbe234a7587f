"""Several recordings of one test become one run: each stays a part of its own, time goes on from one to the next."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import replace

import numpy as np

from dampkit.bench.run import Quality, Run, Step
from dampkit.quantities import Array, read_only

Channel = Callable[[Run], Array | None]


def joined(runs: Sequence[Run]) -> Run:
    """One run of one or several recordings; `parts` are views of its rows. What was declared is that of the first."""
    first = runs[0]
    if len(runs) == 1:
        return first
    ends = np.cumsum([run.rows_used for run in runs])
    time = _one_after_the_other(runs)
    displacement, force = (_all(runs, channel) for channel in (lambda r: r.displacement_m, lambda r: r.force_n))
    velocity = _all_or_none(runs, lambda r: r.measured_velocity_m_s)
    temperature = _all_or_none(runs, lambda r: r.temperature_c)
    starts = [0, *ends[:-1].tolist()]
    parts = tuple(
        replace(run, displacement_m=displacement[a:b], force_n=force[a:b])
        for run, a, b in zip(runs, starts, ends.tolist(), strict=True)
    )
    return replace(
        first,
        rows_read=sum(run.rows_read for run in runs),
        time_s=time,
        displacement_m=displacement,
        force_n=force,
        measured_velocity_m_s=velocity,
        temperature_c=temperature,
        zero_known=all(run.zero_known for run in runs),
        direction_known=all(run.direction_known for run in runs),
        force_resolution_n=max(run.force_resolution_n for run in runs),
        displacement_resolution_m=max(run.displacement_resolution_m for run in runs),
        copied=(),
        closed_hz=None,
        history=_history(runs),
        quality=_quality(runs),
        parts=parts,
    )


def _one_after_the_other(runs: Sequence[Run]) -> Array:
    times, at = [], 0.0
    for run in runs:
        times.append(run.time_s - run.time_s[0] + at)
        at = float(times[-1][-1]) + run.sample_interval_s
    return read_only(np.concatenate(times))


def _all(runs: Sequence[Run], channel: Channel) -> Array:
    return read_only(np.concatenate([np.asarray(channel(run)) for run in runs]))


def _all_or_none(runs: Sequence[Run], channel: Channel) -> Array | None:
    return None if any(channel(run) is None for run in runs) else _all(runs, channel)


def _history(runs: Sequence[Run]) -> tuple[Step, ...]:
    """Each step once, in the order in which it was first done."""
    names = ", ".join(dict.fromkeys(run.file for run in runs))
    steps = dict.fromkeys(step for run in runs for step in run.history)
    return (*steps, Step("recordings joined", f"parts of one test: {names}", (("parts", len(runs)),)))


def _quality(runs: Sequence[Run]) -> tuple[Quality, ...]:
    """A remark that all share once; any other with the name of its file."""
    shared = {q for q, times in Counter(q for run in runs for q in set(run.quality)).items() if times == len(runs)}
    several = len({run.file for run in runs}) > 1
    out: dict[Quality, None] = {}
    for run in runs:
        for q in run.quality:
            named = replace(q, message=f"{run.file}: {q.message}") if several and q not in shared else q
            out[named] = None
    return tuple(out)
