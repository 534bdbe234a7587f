"""Copies of the book that are made, taken in or checked: one after another in a process of their own, however long it takes."""

from __future__ import annotations

import shutil
import threading
from collections.abc import Callable
from concurrent.futures import Future
from dataclasses import dataclass, field
from functools import cached_property
from pathlib import Path
from typing import Any

from dampkit.app.serve.workers import Kind, Workers
from dampkit.bench.gate import Limit
from dampkit.errors import BadSettings
from dampkit.frozen import frozen

LONG = Kind(
    Limit("DAMPKIT_MOST_COPY_SECONDS", 12 * 3600, "seconds for one copy of the book"),
    ("the copy of the book", "a copy that ends", "choose fewer entries"),
)
MOST_WAITING, MOST_KEPT = 4, 3
PROGRESS = "progress"


@frozen
class Copy:
    """Work on a copy in its own folder: under way, or what it gave. `id` is the folder's own name."""

    id: str
    folder: Path
    work: Future[dict[str, Any]]

    def progress(self) -> tuple[int, int] | None:
        """How much is done, and of how much; None where that is not known yet."""
        try:
            done, of = (self.folder / PROGRESS).read_text(encoding="ascii").split()
            return int(done), int(of)
        except (OSError, ValueError):
            return None

    def file(self) -> Path | None:
        """What was made, once it is whole."""
        if not self.work.done() or self.work.cancelled() or self.work.exception() is not None:
            return None
        name = self.work.result().get("file")
        return self.folder / name if name else None


@dataclass
class Copies:
    """`aside` gives a new private folder, `tell` tells the pages that listen. The latest that are done stay for a while."""

    aside: Callable[[], Path]
    tell: Callable[[str], None]
    held: dict[str, Copy] = field(default_factory=dict)
    lock: threading.Lock = field(default_factory=threading.Lock)

    @cached_property
    def workers(self) -> Workers:
        """Started with the first copy, as most days see none."""
        return Workers(1, kind=LONG)

    def begin(self, work: Callable[..., dict[str, Any]], *given: Any, folder: Path | None = None) -> Copy:
        """`work` is given its folder and `given`; in the folder that holds what it needs, or a new one.

        Raises BadSettings where too many wait already.
        """
        with self.lock:
            waiting = sum(not copy.work.done() for copy in self.held.values())
            if waiting >= MOST_WAITING:
                found, do = f"{waiting} copies are being made or wait", "wait until one of them is done"
                raise BadSettings("copies of the book", found, f"at most {MOST_WAITING}", do)
            place = folder or self.aside()
            copy = Copy(place.name.lstrip("."), place, self.workers.begin(work, str(place), *given))
            self.held[copy.id] = copy
            done = [one for one in self.held.values() if one.work.done()]
            for old in done[:-MOST_KEPT]:
                del self.held[old.id]
                shutil.rmtree(old.folder, ignore_errors=True)
        copy.work.add_done_callback(lambda _: self._told(copy))
        return copy

    def close(self) -> None:
        if "workers" in vars(self):
            self.workers.close()

    def _told(self, copy: Copy) -> None:
        self.tell(f"done/exchange/{copy.id}")
        self.tell("book")


def keep_progress(folder: str, done: int, of: int) -> None:
    """In the worker: for the page to read; half of it is read as nothing."""
    (Path(folder) / PROGRESS).write_text(f"{done} {of}", encoding="ascii")
