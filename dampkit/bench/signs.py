"""Which way is extension and which is tension: declared, shown by the power, or asked for. Never swapped silently."""

from __future__ import annotations

import numpy as np

from dampkit.bench.declared import Signs
from dampkit.bench.run import Notes
from dampkit.frozen import frozen
from dampkit.quantities import Array, blocks, median

CLEAR_WORK = 0.05  # net work over all work moved back and forth; less shows no direction
SLOW = 0.05  # of the top speed
OUTWARD = {"extension": 1.0, "tension": 1.0, "compression": -1.0}


@frozen
class Orientation:
    """Factors that turn the log's signs into the package's; `known` is False where the direction was assumed."""

    motion: float
    force: float
    known: bool
    how: str


def orient(
    motion: Array, force: Array, declared: Signs, motion_declared: str | None, zero_known: bool, notes: Notes
) -> Orientation:
    """Decide both signs. motion: displacement as logged, force: as logged but for a known zero, in SI, shape (N,).

    A damper takes work in, which gives one sign from the other. With both undeclared, gas force that pushes the rod
    out while it moves slowly in either direction shows the way, if the cell's zero is known; otherwise the way is
    assumed and asked for.
    """
    share = work_share(motion, force)
    relative = 0.0 if abs(share) < CLEAR_WORK else float(np.sign(share))
    m = OUTWARD.get(motion_declared or "", 0.0)
    f = OUTWARD.get(declared.force_positive or "", 0.0)
    if m and f:
        if m * f * share >= -CLEAR_WORK:
            return Orientation(m, f, True, "declared in bench.toml")
        _work_is_given(notes)
        return Orientation(m, -f, False, "motion declared in bench.toml, force against it: from the work taken in")
    if relative == 0.0:
        _ask(notes, "The log shows no work taken in, so it does not tell which way force and motion count.")
        return Orientation(m or f or 1.0, f or m or 1.0, False, "assumed: no work shows it")
    if m or f:
        how = f"{'motion' if m else 'force'} declared in bench.toml, the other from the work taken in"
        return Orientation(m or f * relative, f or m * relative, True, how)
    push = _slow_push(motion, force) if zero_known else 0.0
    if push:
        f = -push  # gas pushes the rod out: compression, whichever way it moves
        return Orientation(f * relative, f, True, "from the gas force that pushes the rod out, and the work taken in")
    _ask(notes, "Nothing says which way is extension: positive displacement was taken as extension.")
    return Orientation(
        1.0, relative, False, "assumed: positive displacement is extension; force from the work taken in"
    )


def work_share(motion: Array, force: Array) -> float:
    """Net work over the sum of all work moved either way: 1 for a pure damper, 0 for a pure spring."""
    level = 2 * float(np.mean(force))
    net = moved = 0.0
    for rows in blocks(motion.size, shared=1):
        work = (force[rows][1:] + force[rows][:-1] - level) * np.diff(motion[rows])
        net += float(work.sum())
        moved += float(np.abs(work).sum())
    return net / moved if moved > 0 else 0.0


def _slow_push(motion: Array, force: Array) -> float:
    """Sign of the force if it is the same while moving slowly one way and the other, else 0."""
    stretch = max(1, motion.size // 20_000)
    n = motion.size // stretch * stretch
    x, f = motion[:n].reshape(-1, stretch).mean(axis=1), force[:n].reshape(-1, stretch).mean(axis=1)
    speed = np.gradient(x)
    slow = np.abs(speed) < SLOW * float(np.max(np.abs(speed)))
    ways = [f[slow & (speed > 0)], f[slow & (speed < 0)]]
    if min(w.size for w in ways) < 10:
        return 0.0
    signs = {np.sign(median(w)) for w in ways}
    return signs.pop() if len(signs) == 1 else 0.0


def _work_is_given(notes: Notes) -> None:
    notes.noticed(
        "gives_work",
        "bad",
        "With the signs declared in bench.toml every stroke would give energy back; a damper takes it in. One of [signs]"
        " force_positive and displacement_positive is the wrong way round. Pull the rod out by hand, see which way both"
        " readings go, and put it right. Until then the force was taken the other way, so rebound and compression may"
        " be swapped.",
        "declare",
    )


def _ask(notes: Notes, found: str) -> None:
    notes.noticed(
        "direction_unknown",
        "warning",
        f"{found} Rebound and compression may be swapped."
        " Pull the rod out by hand, see which way the readings go, and state it in bench.toml: [signs].",
        "declare",
    )
