"""Analyses in processes of their own, so that pages answer meanwhile; one that takes too long or too much is ended."""

from __future__ import annotations

import contextlib
import faulthandler
import multiprocessing
import os
import sys
import threading
import time
from collections import deque
from collections.abc import Callable, Iterator
from concurrent.futures import Future, ProcessPoolExecutor, ThreadPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from contextlib import contextmanager
from queue import SimpleQueue
from statistics import median
from typing import Any, ParamSpec, TypeVar

from dampkit.bench.gate import Limit
from dampkit.errors import CannotAnalyse
from dampkit.frozen import frozen
from dampkit.own_process import settle

P = ParamSpec("P")
T = TypeVar("T")
Warm = Callable[[], int]
SECONDS = Limit("DAMPKIT_MOST_SECONDS", 180, "seconds for one analysis")
MEMORY = Limit("DAMPKIT_MOST_MEMORY_BYTES", 6 * 2**30, "bytes of memory for one analysis")
MOST_WORKERS = 4


@frozen
class Kind:
    """How long one piece of such work may take, and what it is called, what is expected and to be done where it is not done."""

    seconds: Limit
    words: tuple[str, str, str]


ANALYSIS = Kind(SECONDS, ("the analysis", "a record of one test", "leave out what is not the test"))
LATELY = 20  # pieces of work of a kind by which the next is reckoned
GIVES_WAY = 10  # so that pages, and whatever else the bench's computer does, come first


class Workers:
    """Processes that are started once and kept. Each is a pool of its own, so that the end of one ends no other's work."""

    def __init__(
        self, count: int | None = None, *, seconds: int | None = None, kind: Kind = ANALYSIS, warm: Warm | None = None
    ) -> None:
        """`warm` is done first in each process, and gives its number; else what every analysis imports is imported."""
        self.warm = warm or _warm
        self.kind, self.seconds = kind, kind.seconds.most if seconds is None else seconds
        self.memory = MEMORY.most
        count = count or max(1, min(MOST_WORKERS, os.cpu_count() or 1))
        self._free: SimpleQueue[ProcessPoolExecutor] = SimpleQueue()
        self._pids: list[Future[int]] = []
        self._threads = ThreadPoolExecutor(count, "dampkit-work")
        self._took_s: dict[str, deque[float]] = {}
        self.count = count
        for _ in range(count):
            self._free.put(self._started())

    def begin(self, work: Callable[P, T], *given: P.args, **named: P.kwargs) -> Future[T]:
        """Begin work as soon as a process is free; `work` is a function of a module, and raises only errors for a person."""
        return self._threads.submit(lambda: self._done(work, *given, **named))

    def usual_s(self, work: Callable[..., Any]) -> float | None:
        """How long such work took of late, waiting for a process left out; None where none was done yet."""
        took = self._took_s.get(work.__name__)
        return median(took) if took else None

    def close(self) -> None:
        """Wait for nothing: what is under way is ended, too."""
        self._threads.shutdown(wait=False, cancel_futures=True)
        while not self._free.empty():
            self._free.get().shutdown(wait=False, cancel_futures=True)
        ours = {pid.result() for pid in self._pids if pid.done() and not pid.cancelled() and pid.exception() is None}
        for child in multiprocessing.active_children():
            if child.pid in ours:
                child.terminate()

    def _done(self, work: Callable[..., T], *given: Any, **named: Any) -> T:
        """A process that died under it, as where the system ends one for want of memory, is replaced once."""
        process, over = self._free.get(), False
        try:
            for _ in range(2):
                begun_s = time.monotonic()
                with contextlib.suppress(BrokenProcessPool):
                    done: Future[T] = process.submit(_limited, self.seconds, work, *given, **named)
                    found = done.result()
                    took_s = self._took_s.setdefault(work.__name__, deque(maxlen=LATELY))
                    took_s.append(time.monotonic() - begun_s)
                    return found
                over = time.monotonic() - begun_s >= self.seconds
                process.shutdown(wait=False)
                process = self._started()
                if over:
                    break
        finally:
            self._free.put(process)
        said = f"it took more than {self.seconds} seconds" if over else "its process died, twice"
        where, expected, do = self.kind.words
        raise CannotAnalyse(where, said, expected, f"{do}; {self.kind.seconds.do()}")

    def _started(self) -> ProcessPoolExecutor:
        spawn = multiprocessing.get_context("spawn")
        made = ProcessPoolExecutor(1, mp_context=spawn, initializer=_prepare, initargs=(self.memory,))
        self._pids.append(made.submit(self.warm))
        return made


def _prepare(memory: int) -> None:
    """In the process: no more memory than allowed, where the system can hold it to that; a stop is the server's affair."""
    import signal

    settle()
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    if hasattr(os, "nice"):
        os.nice(GIVES_WAY)
    threading.Thread(target=_end_with_parent, daemon=True).start()
    if sys.platform != "win32":
        import resource

        with contextlib.suppress(ValueError, OSError):  # a system that knows the limit and does not let it be set
            hard = resource.getrlimit(resource.RLIMIT_AS)[1]
            most = memory if hard == resource.RLIM_INFINITY else min(memory, hard)
            resource.setrlimit(resource.RLIMIT_AS, (most, hard))


def _end_with_parent() -> None:
    """Nobody asks any more where the server was killed."""
    parent = multiprocessing.parent_process()
    if parent is not None:
        parent.join()
        os._exit(1)


def _warm() -> int:
    """What every analysis imports, before the first one asks for it; gives the number of the process."""
    import dampkit.analyse
    import dampkit.bench.test
    import dampkit.curves.trace
    import dampkit.damper.identify
    import dampkit.outcome.conclude
    import dampkit.report.page  # noqa: F401

    return os.getpid()


def _limited(seconds: int, work: Callable[..., T], *given: Any, **named: Any) -> T:
    try:
        with _time_limit(seconds):
            return work(*given, **named)
    except MemoryError:
        found = f"it needs more than {MEMORY.most} {MEMORY.what}"
        raise CannotAnalyse("the analysis", found, "a record of one test", MEMORY.do()) from None


@contextmanager
def _time_limit(seconds: int) -> Iterator[None]:
    """The process ends when the time is over, whatever it is doing: the interpreter's watchdog needs no turn of its own."""
    with open(os.devnull, "w") as nowhere:
        faulthandler.dump_traceback_later(seconds, exit=True, file=nowhere)
        try:
            yield
        finally:
            faulthandler.cancel_dump_traceback_later()
