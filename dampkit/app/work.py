"""The work on one log of a batch, wherever it is done: on this machine or on one that has only the bytes."""

from __future__ import annotations

import re
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
    """A test to analyse, its records in order. `data` is None where the worker can read the files itself.

    `file` is the first record as the person named it.
    """

    file: str
    paths: tuple[Path, ...]
    key: str
    hashes: tuple[str, ...]
    data: tuple[bytes, ...] | None
    job: Job

    @property
    def sha256(self) -> str:
        return self.hashes[0]


def analyse_task(task: Task) -> Outcome:
    """Analyse one test; every way it can go wrong is an outcome, never an exception."""
    try:
        with tempfile.TemporaryDirectory(prefix="dampkit-") as folder:
            return _analysed(task, _placed(task, Path(folder)))
    except DampkitError as error:
        lines = (_as_named(error.lines()[0], task), *error.lines()[1:])
        return Outcome(task.key, task.sha256, error.exit_status, error=lines)
    except Exception as error:
        return failed(task, f"unexpected {type(error).__name__}: {' '.join(str(error).split())[:200]}")


def _placed(task: Task, folder: Path) -> list[Path]:
    """Where the records are; those that were sent along are written down first, each in a folder of its own."""
    if task.data is None:
        return list(task.paths)
    places = [folder / str(i) / path.name for i, path in enumerate(task.paths)]
    for place, data in zip(places, task.data, strict=True):
        place.parent.mkdir()
        place.write_bytes(data)
    return places


def _as_named(line: str, task: Task) -> str:
    """A line of an error with the records as the person named them."""
    first = Path(task.file).parent
    for i, path in enumerate(task.paths):
        named = task.file if i == 0 else str(first / path.name)
        line = re.sub(rf"\S*dampkit-[^/\\]+[/\\]{i}[/\\]{re.escape(path.name)}", lambda _, n=named: n, line)  # type: ignore[misc]
    return line


def _analysed(task: Task, paths: list[Path]) -> Outcome:
    test = dampkit.read_test(paths, task.job.bench)
    if tuple(file.sha256 for file in test.files) != task.hashes:
        return failed(task, "a file changed while it was being read; run the batch again")
    result = analyse_job(test, task.job)
    return Outcome(task.key, task.sha256, 0, result.to_dict())


def failed(task: Task, why: str) -> Outcome:
    return Outcome(task.key, task.sha256, BUG, error=(f"{task.file}: {why}",))


def lost(task: Task) -> Outcome:
    """For a log whose worker twice died, or gave no answer, while it was analysed."""
    return failed(task, "the process that analysed it died or gave no answer, for want of memory perhaps")
