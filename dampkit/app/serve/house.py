"""What the pages share: the book's place, the work on disk, the processes, the door, and who listens for changes."""

from __future__ import annotations

from collections.abc import Callable
from concurrent.futures import Future
from concurrent.futures import TimeoutError as NotYet
from dataclasses import dataclass, field
from pathlib import Path
from threading import RLock
from typing import Any

from dampkit.app.serve.door import Door
from dampkit.app.serve.drafts import Draft, Drafts, input_key
from dampkit.app.serve.feed import Feed
from dampkit.app.serve.guard import Names
from dampkit.app.serve.understood import error_of, understand
from dampkit.app.serve.watch import Watched
from dampkit.app.serve.workers import Workers
from dampkit.errors import DampkitError
from dampkit.version import __version__

PATIENCE_S = 0.05  # how long a page waits for its answer before it shows that it is being worked out


@dataclass
class House:
    """One per server. `begun` holds the work under way by draft, step and input, so that nothing is done twice."""

    book: Path
    drafts: Drafts
    workers: Workers
    door: Door
    names: Names
    feed: Feed = field(default_factory=Feed)
    watched: Watched | None = None
    last_person: str = ""  # whoever wrote last, so that the name need not be typed again
    begun: dict[str, Future[Any]] = field(default_factory=dict)
    lock: RLock = field(default_factory=RLock)
    keeping: RLock = field(default_factory=RLock)  # one at a time, so that what is sent twice is kept once

    def understood(self, draft: Draft, bench: str) -> dict[str, Any] | None:
        """How the records are understood; None while it is worked out."""
        records = self.records(draft)
        return self.worked_out(
            draft, "look", (draft.records, bench), lambda: self.workers.begin(understand, records, bench)
        )

    def records(self, draft: Draft) -> list[tuple[str, str]]:
        return [(kept.label, str(self.drafts.place(draft, kept))) for kept in draft.records]

    def worked_out(
        self, draft: Draft, what: str, of: Any, begin: Callable[[], Future[dict[str, Any]]]
    ) -> dict[str, Any] | None:
        """What was worked out of the very same input, begun now where it was not; None while it is under way."""
        key = input_key(__version__, repr(of))
        found: dict[str, Any] | None = self.drafts.derived(draft, what, key)
        if found is not None:
            return found
        name = f"{draft.id}/{what}/{key}"
        with self.lock:
            under_way = self.begun.get(name)
            if under_way is None:
                under_way = self.begun[name] = begin()
                under_way.add_done_callback(lambda done: self._keep(draft, what, key, done))
        try:
            return answer_of(under_way, PATIENCE_S)
        except NotYet:
            return None

    def forget_failed(self, draft: Draft) -> None:
        """What failed for reasons outside the record is tried again when it is asked for again."""
        with self.lock:
            for name in [name for name, work in self.begun.items() if name.startswith(draft.id) and work.done()]:
                del self.begun[name]

    def _keep(self, draft: Draft, what: str, key: str, done: Future[Any]) -> None:
        """On the disk, so that it is there after a new start; what failed stays in memory, for a new start to try again."""
        if done.cancelled():
            return
        if done.exception() is None:
            self.drafts.keep_derived(draft, what, key, done.result())
            with self.lock:
                self.begun.pop(f"{draft.id}/{what}/{key}", None)
        self.feed.tell(f"done/{draft.id}")


def answer_of(done: Future[Any], patience_s: float) -> dict[str, Any]:
    """What was found; an error becomes an answer, too, `again` where a second try may do. Raises TimeoutError where it
    is not there in time."""
    try:
        found: dict[str, Any] = done.result(patience_s)
        return found
    except NotYet:
        raise
    except DampkitError as error:
        return {"error": {**error_of(error), "again": True}}
    except Exception as error:  # a fault of the program must not end the server
        found_text = f"unexpected {type(error).__name__}: {' '.join(str(error).split())[:200]}"
        return {"error": {"where": "the analysis", "found": found_text, "expected": "an answer",
                          "do": "this is a fault of the program: please report it, with the record", "again": True}}  # fmt: skip
