"""Several logs to fits, for the commands that hold runs side by side."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import dampkit
from dampkit.bench.run import Run
from dampkit.damper.unit import Unit
from dampkit.errors import BadSettings
from dampkit.job import Job


@dataclass(frozen=True)
class Fitted:
    name: str
    run: Run
    fit: Unit


def fitted(logs: Sequence[Path], job: Job, at_least: int = 2) -> list[Fitted]:
    """Each log read and fitted, in the order given.

    Raises BadSettings for too few logs or the same log twice; UnreadableLog and CannotAnalyse as `analyse`.
    """
    from dampkit.curves.trace import trace
    from dampkit.damper.identify import identify

    if len(logs) < at_least:
        raise BadSettings("logs", f"found {len(logs)}", f"at least {at_least} logs", "name them after the command")
    out: list[Fitted] = []
    for path in logs:
        run = dampkit.read_run(path, job.bench)
        same = next((f.name for f in out if f.run.sha256 == run.sha256), None)
        if same is not None:
            raise BadSettings(str(path), f"the same log as {same}", "a different run each", "check the names")
        out.append(Fitted(str(path), run, identify(trace(run), job.damper)))
    return out
