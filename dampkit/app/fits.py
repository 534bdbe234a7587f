"""Several logs to fits, with a word on how far it is where they are many."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from dampkit.app.progress import Progress
from dampkit.job import Job

if TYPE_CHECKING:
    from dampkit.outcome.side_by_side import Fitted


def fitted_shown(logs: Sequence[Path], job: Job) -> tuple[Fitted, ...]:
    """As `fitted`."""
    from dampkit.outcome.side_by_side import fitted

    progress = Progress(len(logs))
    try:
        return fitted(_Counted(logs, progress), job)
    finally:
        progress.end()


class _Counted(list[Path]):
    """Logs that are counted as they are gone through."""

    def __init__(self, logs: Sequence[Path], progress: Progress) -> None:
        super().__init__(logs)
        self.progress = progress

    def __iter__(self) -> Iterator[Path]:
        return self.progress.over(list.__iter__(self))
