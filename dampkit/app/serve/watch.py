"""A folder into which the bench writes: every new record becomes a piece of work, once it has stopped growing.

The folder is looked through by name and size, as no system tells of what another machine writes to a shared drive.
"""

from __future__ import annotations

import os
import time
from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path
from threading import Event, Lock, Thread

from dampkit.app.logs import SUFFIXES
from dampkit.app.serve.drafts import Drafts
from dampkit.bench.gate import A_LOG, regular_file
from dampkit.errors import BadSettings, DampkitError

ENDINGS = (*SUFFIXES, ".json")
STILL_S = 1.0  # a file is whole when its size has not changed for so long
LOOK_S = 0.5
MOST_SHOWN = 100
State = str  # "there before", "being written", "taken", or why it could not be


@dataclass(frozen=True)
class Seen:
    """`draft` is the piece of work that it became."""

    name: str
    size_bytes: int
    changed_s: float
    still_since_s: float
    state: State
    draft: str = ""


class Watched:
    """`tell` is called after every change, and with the number of the piece of work that a record became."""

    def __init__(
        self, folder: Path, drafts: Drafts, tell: Callable[[str], None], clock: Callable[[], float] = time.monotonic
    ):
        if not folder.is_dir():
            raise BadSettings(
                "--watch", f"{folder} is no folder", "the folder that the bench writes to", "check the path"
            )
        self.folder, self.drafts, self.tell, self.clock = folder, drafts, tell, clock
        self._seen: dict[str, Seen] = {}
        self._lock, self._over = Lock(), Event()
        self._thread = Thread(target=self._run, name="dampkit-watch", daemon=True)
        self.look(first=True)

    def start(self) -> None:
        self._thread.start()

    def close(self) -> None:
        self._over.set()

    def files(self) -> tuple[Seen, ...]:
        """Latest change first."""
        with self._lock:
            found = sorted(self._seen.values(), key=lambda seen: seen.changed_s, reverse=True)
        return tuple(found[:MOST_SHOWN])

    def take(self, name: str) -> str:
        """The piece of work that a file becomes now; empty for a name that was not seen in the folder."""
        with self._lock:
            seen = self._seen.get(name)
        if seen is None:
            return ""
        taken = self._taken(seen)
        self._note(taken)
        if not taken.draft:
            raise BadSettings(
                name, taken.state, "a finished record", "wait until the bench has written it, and try again"
            )
        return taken.draft

    def look(self, *, first: bool = False) -> None:
        """Look through the folder once."""
        there = self._listed()
        with self._lock:
            gone = [name for name in self._seen if name not in there]
            for name in gone:
                del self._seen[name]
            now = {name: self._now(name, size, changed, first) for name, (size, changed) in there.items()}
            different = bool(gone) or any(now[name] != self._seen.get(name) for name in now)
            self._seen.update(now)
        for seen in now.values():
            if seen.state == "being written" and self.clock() - seen.still_since_s >= STILL_S:
                self._note(self._taken(seen))
        if different:
            self.tell("")

    def _listed(self) -> dict[str, tuple[int, float]]:
        """Size and time of each record, by its name; links and what lies deeper are left alone."""
        try:
            with os.scandir(self.folder) as entries:
                stats = {entry.name: entry.stat(follow_symlinks=False) for entry in entries if _is_record(entry)}
        except OSError:  # a drive that is away
            return {seen.name: (seen.size_bytes, seen.changed_s) for seen in self._seen.values()}
        return {name: (held.st_size, held.st_mtime) for name, held in stats.items()}

    def _now(self, name: str, size: int, changed: float, first: bool) -> Seen:
        before = self._seen.get(name)
        if before is not None and (before.size_bytes, before.changed_s) == (size, changed):
            return before
        state = "there before" if first else "being written"
        return Seen(name, size, changed, self.clock(), state, before.draft if before else "")

    def _taken(self, seen: Seen) -> Seen:
        """The file copied into a piece of work; into the one that it became before, where it was written to again."""
        fresh = ""
        try:
            with regular_file(self.folder / seen.name, A_LOG) as file:
                draft = self.drafts.get(seen.draft) if seen.draft else None
                if draft is None or draft.entry is not None:
                    draft = self.drafts.new()
                    fresh = draft.id
                kept = self.drafts.take(draft, seen.name, file)
            self.drafts.change(
                draft.id, lambda d: replace(d, records=(*(r for r in d.records if r.label != kept.label), kept))
            )
            return replace(seen, state="taken", draft=draft.id)
        except (DampkitError, OSError) as error:
            self.drafts.remove(fresh)
            return replace(
                seen, state=error.found if isinstance(error, DampkitError) else f"cannot be read: {error.strerror}"
            )

    def _note(self, seen: Seen) -> None:
        with self._lock:
            if seen.name in self._seen:
                self._seen[seen.name] = seen
        self.tell(seen.draft)

    def _run(self) -> None:
        while not self._over.wait(LOOK_S):
            self.look()


def _is_record(entry: os.DirEntry[str]) -> bool:
    name = entry.name.lower()
    return name.endswith(ENDINGS) and not name.startswith(".") and entry.is_file(follow_symlinks=False)
