"""Several logs to fits, for the commands that hold runs side by side."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING

import dampkit
from dampkit.analyse import analyse_job
from dampkit.bench.points import Points
from dampkit.bench.run import Run
from dampkit.damper.unit import Unit
from dampkit.errors import BadSettings
from dampkit.job import Job

if TYPE_CHECKING:
    from dampkit.outcome.result import Result


@dataclass(frozen=True)
class Fitted:
    name: str
    run: Run | Points
    job: Job
    fit: Unit

    @cached_property
    def result(self) -> Result:
        """The whole analysis, made when it is first asked for."""
        return analyse_job(self.run, self.job)


def fitted(logs: Sequence[Path], job: Job, at_least: int = 2) -> list[Fitted]:
    """Each log read and fitted, in the order given.

    Raises BadSettings for too few logs or the same log twice; UnreadableLog and CannotAnalyse as `analyse`.
    """
    from dampkit.curves.trace import measured_of
    from dampkit.damper.identify import identify

    if len(logs) < at_least:
        raise BadSettings("logs", f"found {len(logs)}", f"at least {at_least} logs", "name them after the command")
    out: list[Fitted] = []
    for path in logs:
        run = dampkit.read_test([path], job.bench).record
        same = next((f.name for f in out if f.run.sha256 == run.sha256), None)
        if same is not None:
            raise BadSettings(str(path), f"the same log as {same}", "a different run each", "check the names")
        out.append(Fitted(str(path), run, job, identify(measured_of(run), job.damper)))
    return out
