"""A run becomes its loops."""

from __future__ import annotations

import numpy as np

from dampkit.bench.run import Quality, Run
from dampkit.curves.fold import fold
from dampkit.curves.loop import Curves, Loop
from dampkit.curves.stages import find_stages

SAME_SPEED = 0.05  # two stages within this share of each other in speed and stroke are a repeat


def trace(run: Run) -> Curves:
    """Find the stages of a run and fold each on its cycles.

    Raises CannotAnalyse where there is no full cycle of steady motion.
    """
    loops = tuple(fold(run, stage) for stage in find_stages(run))
    return Curves(run, loops, tuple(_remarks(run, loops)))


def _remarks(run: Run, loops: tuple[Loop, ...]) -> list[Quality]:
    out = []
    if len(loops) == 1:
        out.append(
            Quality(
                "one_stage",
                "warning",
                "The log has one stage only: valve, friction and lag are not told apart. Run a slow pass and three or more speeds.",
            )
        )
    if run.temperature_c is None:
        out.append(
            Quality(
                "no_temperature",
                "note",
                "No temperature in the log: compare only with units tested as warm as this one.",
            )
        )
    if not _repeats(loops):
        out.append(
            Quality(
                "no_repeat",
                "note",
                "No speed was run twice, so drift and warming up during the test are not established.",
            )
        )
    return out


def _repeats(loops: tuple[Loop, ...]) -> bool:
    key = np.array([[loop.peak_velocity_m_s, loop.stage.stroke_m] for loop in loops])
    alike = np.abs(key[:, None] / key[None] - 1).max(axis=2) < SAME_SPEED
    return bool(np.triu(alike, 1).any())
