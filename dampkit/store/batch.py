"""Many tests from Python: each becomes a result or the error that says why not; one bad record never stops the rest."""

from __future__ import annotations

import os
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

from dampkit.analyse import analyse_job
from dampkit.bench.given import Given, given, refuse_lone
from dampkit.bench.points import Points
from dampkit.bench.run import Run
from dampkit.bench.test import Test, read_test
from dampkit.errors import DampkitError
from dampkit.frozen import frozen
from dampkit.job import Job, JobFiles
from dampkit.store.many import Crew, work_through
from dampkit.store.outcomes import COLUMNS, Outcome, row

if TYPE_CHECKING:
    import pandas as pd

    from dampkit.bench.given import Source
    from dampkit.outcome.result import Result


@frozen
class Batch:
    """In the order given: the name of each test, and its result or its error.

    Examples
    --------
    >>> dampkit.batch(["sample_runs/drawing_table.csv", "sample_runs/broken_log.csv"])
    <Batch of 2 tests: 1 analysed, 1 with errors>
    """

    names: tuple[str, ...]
    outcomes: tuple[Result | DampkitError, ...]

    @property
    def results(self) -> tuple[Result, ...]:
        """Of those that could be analysed."""
        return tuple(found for found in self.outcomes if not isinstance(found, DampkitError))

    @property
    def errors(self) -> tuple[tuple[str, DampkitError], ...]:
        """Name and error of those that could not."""
        pairs = zip(self.names, self.outcomes, strict=True)
        return tuple((name, found) for name, found in pairs if isinstance(found, DampkitError))

    def frames(self) -> dict[str, pd.DataFrame]:
        """`table`: a row a test, with the columns of `dampkit batch` but its key."""
        import pandas as pd

        columns = [name for name in COLUMNS if name != "key"]
        rows = [{**_row(found), "file": name} for name, found in zip(self.names, self.outcomes, strict=True)]
        return {"table": pd.DataFrame(rows, columns=columns)}

    def __repr__(self) -> str:
        return f"<Batch of {len(self.names)} tests: {len(self.results)} analysed, {len(self.errors)} with errors>"


@frozen
class Item:
    place: int
    name: str
    test: Run | Points | Test | Given | DampkitError
    job: Job
    folder: Path  # that a path which is not whole is of: a process that is kept stays where it was begun


def batch(tests: Sequence[Run | Points | Test | Source], job: Job, processes: int = 1) -> Batch:
    """`processes`: of this machine; 0 for one a processor. Files beside a record go before what is in `job`."""
    refuse_lone(tests, "batch")
    items = [_item(n, test, job) for n, test in enumerate(tests)]
    if processes == 0:
        from joblib import cpu_count

        processes = cpu_count()
    done = dict(work_through(iter(items), _analysed, _lost, Crew(processes)))
    return Batch(tuple(item.name for item in items), tuple(done[n] for n in range(len(items))))


def _item(place: int, test: Run | Points | Test | Source, job: Job) -> Item:
    """Open files are read here, so that what is handed on can go to another process."""
    if isinstance(test, Run | Points | Test):
        return Item(place, test.files[0].file if isinstance(test, Test) else test.file, test, job, Path.cwd())
    name = str(test) if isinstance(test, str | os.PathLike) else f"test {place + 1}"
    try:
        held = given(test)
        own = job if held.path is None else _beside(held.path, job)
        return Item(place, name if held.path is not None else held.file, held, own, Path.cwd())
    except DampkitError as error:
        return Item(place, name, error, job, Path.cwd())


def _beside(log: Path, job: Job) -> Job:
    """What lies beside a log: its own file before the one declared, that before the folder's."""
    for kind, path in JobFiles().beside(log).by_kind.items():
        own = path is not None and path.name != f"{kind}.toml"
        if path is not None and (own or getattr(job, kind) is None):
            job = replace(job, **{kind: getattr(Job.load(**{kind: path}), kind)})
    return job


def _analysed(item: Item) -> tuple[int, Result | DampkitError]:
    test = item.test
    try:
        if isinstance(test, DampkitError):
            return item.place, test
        if isinstance(test, Given) and test.path is not None and Path.cwd() != item.folder:
            test = replace(test, path=item.folder / test.path)
        test = read_test([test], item.job.bench) if isinstance(test, Given) else test
        return item.place, analyse_job(test, item.job)
    except DampkitError as error:
        return item.place, error
    except Exception as error:
        found = f"unexpected {type(error).__name__}: {' '.join(str(error).split())[:200]}"
        return item.place, DampkitError(item.name, found, do="this is a fault of the program: please report it")


def _lost(item: Item) -> tuple[int, Result | DampkitError]:
    return item.place, DampkitError(item.name, "the process that analysed it died, for want of memory perhaps")


def _row(found: Result | DampkitError) -> dict[str, object]:
    if isinstance(found, DampkitError):
        return {"status": found.exit_status, "error": "; ".join(found.lines())}
    return dict(row(Outcome("", found.run.sha256, 0, found.to_dict())))
