"""The same work on many things, over processes of this machine or over a cluster; nothing is kept in memory for long."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from concurrent.futures.process import BrokenProcessPool
from multiprocessing import TimeoutError as NoAnswer
from typing import Any, TypeVar

import joblib

from dampkit.frozen import frozen
from dampkit.own_process import settle

Item = TypeVar("Item")
Answer = TypeVar("Answer")
KILLED = "KilledWorker"  # what the cluster's library calls a task whose workers died again and again


@frozen
class Crew:
    """Who works: `processes` of this machine, or the workers of a cluster that `client` is connected to.

    A thing without an answer after `patience_s` counts as one that killed its worker: a cluster tells no other way.
    """

    processes: int = 1
    client: Any = None
    patience_s: float = 600.0

    @property
    def timeout_s(self) -> float | None:
        """None where the work is done in this process, which cannot look at its own watch."""
        return None if self.client is None and self.processes == 1 else self.patience_s

    def config(self) -> Any:
        if self.client is not None:
            return joblib.parallel_config(backend="dask", client=self.client, n_jobs=-1)
        return joblib.parallel_config(
            backend="loky", n_jobs=self.processes, inner_max_num_threads=1, initializer=settle
        )


def work_through(
    items: Iterator[Item], work: Callable[[Item], Answer], lost: Callable[[Item], Answer], crew: Crew
) -> Iterator[Answer]:
    """Answers as they come, in any order; `items` are taken only as fast as they are worked on.

    `work` does not raise. Where a worker process dies, the things that were being worked on are tried again one by one,
    and for one that kills its worker again the answer is `lost`. With one process the work is done in this process,
    which has no such guard.
    """
    under_way: dict[int, Item] = {}
    left = _noted(items, under_way)
    while True:
        try:
            yield from _parallel(left, work, under_way, crew)
            return
        except Exception as error:
            if not _worker_died(error):
                raise
        for number, item in list(under_way.items()):
            yield _alone(item, work, lost, crew)
            del under_way[number]


def _noted(items: Iterator[Item], under_way: dict[int, Item]) -> Iterator[tuple[int, Item]]:
    for number, item in enumerate(items):
        under_way[number] = item
        yield number, item


def _numbered(work: Callable[[Item], Answer], number: int, item: Item) -> tuple[int, Answer]:
    return number, work(item)


def _parallel(
    items: Iterator[tuple[int, Item]], work: Callable[[Item], Answer], under_way: dict[int, Item], crew: Crew
) -> Iterator[Answer]:
    with crew.config():
        run = joblib.Parallel(
            return_as="generator_unordered", batch_size=1, pre_dispatch="2*n_jobs", timeout=crew.timeout_s
        )
        for number, answer in run(joblib.delayed(_numbered)(work, number, item) for number, item in items):
            del under_way[number]
            yield answer


def _alone(item: Item, work: Callable[[Item], Answer], lost: Callable[[Item], Answer], crew: Crew) -> Answer:
    try:
        with crew.config():
            answer: Answer = joblib.Parallel(timeout=crew.timeout_s)([joblib.delayed(work)(item)])[0]
            return answer
    except Exception as error:
        if not _worker_died(error):
            raise
        return lost(item)


def _worker_died(error: Exception) -> bool:
    return isinstance(error, BrokenProcessPool | NoAnswer) or type(error).__name__ == KILLED
