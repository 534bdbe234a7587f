"""A run becomes its loops."""

from __future__ import annotations

import numpy as np

from dampkit.bench.run import Quality, Run
from dampkit.curves.bench_checks import bench_checks
from dampkit.curves.fold import fold
from dampkit.curves.loop import Curves, Loop
from dampkit.curves.rows import row_spans
from dampkit.curves.stages import find_motion
from dampkit.errors import CannotAnalyse
from dampkit.quantities import number


def trace(run: Run) -> Curves:
    """Find the stages of a run and fold each on its cycles.

    Raises CannotAnalyse where there is no full cycle of steady motion, or no force that changes.
    """
    if not np.ptp(run.force_n) > 0:
        raise CannotAnalyse(
            run.file,
            f"the force reads {number(float(run.force_n[0]))} N in every row",
            "a force that changes with the motion",
            "check plug, cable and range of the load cell, and test again",
        )
    motion = find_motion(run)
    loops = tuple(fold(run, stage) for stage in motion.stages)
    return Curves(run, loops, tuple(_remarks(run, loops)), row_spans(run, motion))


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
    return [*out, *bench_checks(run, loops)]
