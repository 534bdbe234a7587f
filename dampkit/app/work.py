"""The work on one log of a batch, wherever it is done: on this machine or on one that has only the bytes."""

from __future__ import annotations

from pathlib import Path

from dampkit.analyse import analyse_job
from dampkit.bench.given import Given
from dampkit.bench.test import read_test
from dampkit.errors import DampkitError
from dampkit.frozen import frozen
from dampkit.job import Job
from dampkit.store.outcomes import BUG, Outcome


@frozen
class Task:
    """A test to analyse, its records in order. `data` is None where the worker can read the files itself.

    `file` is the first record as the person named it.
    """

    file: str
    paths: tuple[Path, ...]
    key: str
    hashes: tuple[str, ...]
    data: tuple[bytes, ...] | None
    job: Job
    ride: bool = True

    @property
    def sha256(self) -> str:
        return self.hashes[0]


def analyse_task(task: Task) -> Outcome:
    """Analyse one test; every way it can go wrong is an outcome, never an exception."""
    try:
        test = read_test(_records(task), task.job.bench)
        if tuple(file.sha256 for file in test.files) != task.hashes:
            return failed(task, "a file changed while it was being read; run the batch again")
        return Outcome(task.key, task.sha256, 0, analyse_job(test, task.job, ride=task.ride).to_dict())
    except DampkitError as error:
        return Outcome(task.key, task.sha256, error.exit_status, error=tuple(error.lines()))
    except Exception as error:
        return failed(task, f"unexpected {type(error).__name__}: {' '.join(str(error).split())[:200]}")


def _records(task: Task) -> list[Given]:
    """The records, wherever they are; an error names them as the person did."""
    folder = Path(task.file).parent
    names = [task.file, *(str(folder / path.name) for path in task.paths[1:])]
    if task.data is None:
        return [Given(path.name, name, path) for path, name in zip(task.paths, names, strict=True)]
    held = zip(task.paths, names, task.data, strict=True)
    return [Given(path.name, name, data=data) for path, name, data in held]


def failed(task: Task, why: str) -> Outcome:
    return Outcome(task.key, task.sha256, BUG, error=(f"{task.file}: {why}",))


def lost(task: Task) -> Outcome:
    """For a log whose worker twice died, or gave no answer, while it was analysed."""
    return failed(task, "the process that analysed it died or gave no answer, for want of memory perhaps")
