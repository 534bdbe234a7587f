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
    setting: float | None = None  # of one of several in a table

    @cached_property
    def result(self) -> Result:
        """The whole analysis, made when it is first asked for."""
        return analyse_job(self.run, self.job)


def fitted(logs: Sequence[Path], job: Job, at_least: int = 2) -> list[Fitted]:
    """Each log read and fitted, in the order given; a table of several settings once for each.

    Raises BadSettings for too few logs or the same log twice; UnreadableLog and CannotAnalyse as `analyse`.
    """
    from dampkit.curves.trace import measured_of
    from dampkit.damper.identify import identify

    out: list[Fitted] = []
    for path in logs:
        run = dampkit.read_test([path], job.bench).record
        same = next((f.name for f in out if f.run.sha256 == run.sha256), None)
        if same is not None:
            raise BadSettings(str(path), f"the same log as {same}", "a different run each", "check the names")
        for part, setting in _settings_of(run):
            name = str(path) if setting is None else f"{path}, setting {setting:g}"
            out.append(Fitted(name, part, job, identify(measured_of(part), job.damper), setting))
    if len(out) < at_least:
        raise BadSettings("logs", f"found {len(out)}", f"at least {at_least} logs", "name them after the command")
    return out


def _settings_of(record: Run | Points) -> list[tuple[Run | Points, float | None]]:
    """A record; each setting of a table of several."""
    if not isinstance(record, Points) or len(record.groups) < 2:
        return [(record, None)]
    return [(record.of_group(group), group) for group in record.groups]
