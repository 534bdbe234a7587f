"""What the pages share: the book's place, the work on disk, the processes, the door, and who listens for changes."""

from __future__ import annotations

import time
from collections.abc import Callable, Mapping
from concurrent.futures import Future
from concurrent.futures import TimeoutError as NotYet
from contextlib import AbstractContextManager
from dataclasses import dataclass, field
from functools import cached_property
from pathlib import Path
from threading import RLock
from typing import Any

from dampkit.app.serve.copies import Copies
from dampkit.app.serve.door import Door
from dampkit.app.serve.drafts import Draft, Drafts, input_key
from dampkit.app.serve.feed import Feed
from dampkit.app.serve.guard import Names
from dampkit.app.serve.told import error_of
from dampkit.app.serve.understood import understand
from dampkit.app.serve.watch import Watched
from dampkit.app.serve.workers import Workers
from dampkit.errors import DampkitError
from dampkit.frozen import frozen
from dampkit.store.book import Book, book_at
from dampkit.version import __version__

PATIENCE_S = 0.05  # how long a page waits for its answer before it shows that it is being worked out


@frozen
class Begun:
    """Work under way, since when, and how many others were before it."""

    work: Future[Any]
    since_s: float
    before: int


@frozen
class Heard:
    """What was worked out of a piece of work as it was then, in a line: for the start page."""

    changed_at: str
    lines: dict[str, str]


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
    begun: dict[str, Begun] = field(default_factory=dict)
    heard: dict[str, Heard] = field(default_factory=dict)
    lock: RLock = field(default_factory=RLock)
    keeping: RLock = field(default_factory=RLock)  # one at a time, so that what is sent twice is kept once

    @cached_property
    def copies(self) -> Copies:
        return Copies(self.drafts.aside, self.feed.tell)

    def the_book(self, *, create: bool = False) -> AbstractContextManager[Book]:
        """Raises UnusableBook where there is none and none is to be made."""
        return book_at(self.book, create)

    def looked_up(self, ask: Callable[[Book], Any], otherwise: Any) -> Any:
        """What the book says; `otherwise` where there is none yet."""
        if not self.book.exists():
            return otherwise
        with self.the_book() as book:
            return ask(book)

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
                before = self.waiting
                under_way = self.begun[name] = Begun(begin(), time.monotonic(), before)
                under_way.work.add_done_callback(lambda done: self._keep(draft, what, key, done))
        try:
            return answer_of(under_way.work, PATIENCE_S)
        except NotYet:
            return None

    @property
    def waiting(self) -> int:
        """Pieces of work that are under way or wait for a process."""
        return sum(not one.work.done() for one in list(self.begun.values()))

    def progress(self, draft: Draft, what: str, work: Callable[..., Any]) -> tuple[float, float] | None:
        """Seconds since it was begun, and those that it takes by what such work took of late; None where that is open."""
        usual_s = self.workers.usual_s(work)
        mine = [one for name, one in list(self.begun.items()) if name.startswith(f"{draft.id}/{what}/")]
        under_way = [one for one in mine if not one.work.done()]
        if usual_s is None or not under_way:
            return None
        one = under_way[-1]
        return time.monotonic() - one.since_s, usual_s * (1 + one.before / self.workers.count)

    def heard_of(self, draft: Draft) -> str:
        """What is known of it as it stands."""
        found = self.heard.get(draft.id)
        return " ".join(found.lines.values()) if found is not None and found.changed_at == draft.changed_at else ""

    def forget_failed(self, draft: Draft) -> None:
        """What failed for reasons outside the record is tried again when it is asked for again."""
        with self.lock:
            for name in [name for name, work in self.begun.items() if name.startswith(draft.id) and work.work.done()]:
                del self.begun[name]

    def _keep(self, draft: Draft, what: str, key: str, done: Future[Any]) -> None:
        """On the disk, so that it is there after a new start; what failed stays in memory, for a new start to try again."""
        if done.cancelled():
            return
        if done.exception() is None:
            self.drafts.keep_derived(draft, what, key, done.result())
            with self.lock:
                self.begun.pop(f"{draft.id}/{what}/{key}", None)
                self._hear(draft, what, done.result())
        self.feed.tell(f"done/draft/{draft.id}")
        self.feed.tell("work")

    def _hear(self, draft: Draft, what: str, found: Mapping[str, Any]) -> None:
        """The latest alone is of use, and of work that is still there."""
        line = found.get("answer") or (f"Verdict: {found['action']}." if "action" in found else "")
        before = self.heard.get(draft.id)
        lines = before.lines if before is not None and before.changed_at == draft.changed_at else {}
        self.heard[draft.id] = Heard(draft.changed_at, {**lines, what: line})
        for gone in [name for name in self.heard if self.drafts.get(name) is None]:
            del self.heard[gone]


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
