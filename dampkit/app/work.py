"""The work on one log of a batch, wherever it is done: on this machine or on one that has only the bytes."""

from __future__ import annotations

import tempfile
from dataclasses import dataclass
from pathlib import Path

import dampkit
from dampkit.analyse import analyse_job
from dampkit.errors import DampkitError
from dampkit.job import Job
from dampkit.store.outcomes import BUG, Outcome


@dataclass(frozen=True)
class Task:
    """A log to analyse. `data` is None where the worker can read the file itself."""

    file: str
    path: Path
    key: str
    sha256: str
    data: bytes | None
    job: Job


def analyse_task(task: Task) -> Outcome:
    """Analyse one log; every way it can go wrong is an outcome, never an exception."""
    try:
        with tempfile.TemporaryDirectory(prefix="dampkit-") as folder:
            path = task.path
            if task.data is not None:
                path = Path(folder) / task.path.name
                path.write_bytes(task.data)
            return _analysed(task, path)
    except DampkitError as error:
        lines = (error.lines()[0].replace(str(path), task.file), *error.lines()[1:])
        return Outcome(task.key, task.sha256, error.exit_status, error=lines)
    except Exception as error:
        return failed(task, f"unexpected {type(error).__name__}: {' '.join(str(error).split())[:200]}")


def _analysed(task: Task, path: Path) -> Outcome:
    run = dampkit.read_test([path], task.job.bench).record
    if run.sha256 != task.sha256:
        return failed(task, "the file changed while it was being read; run the batch again")
    result = analyse_job(run, task.job)
    return Outcome(task.key, task.sha256, 0, result.to_dict())


def failed(task: Task, why: str) -> Outcome:
    return Outcome(task.key, task.sha256, BUG, error=(f"{task.file}: {why}",))


def lost(task: Task) -> Outcome:
    """For a log whose worker twice died, or gave no answer, while it was analysed."""
    return failed(task, "the process that analysed it died or gave no answer, for want of memory perhaps")
