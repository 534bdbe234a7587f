"""A folder into which the bench writes: every new record becomes a piece of work, once it has stopped growing.

The folder is looked through by name and size, as no system tells of what another machine writes to a shared drive. What
was there is kept beside the work, so that what came while nobody looked is taken up at the next start, once for its bytes.
"""

from __future__ import annotations

import json
import os
import time
from collections.abc import Callable
from contextlib import suppress
from dataclasses import replace
from pathlib import Path
from threading import Event, Lock, Thread
from typing import Any

from dampkit.app.logs import SUFFIXES
from dampkit.app.serve.drafts import Drafts
from dampkit.bench.gate import A_LOG, regular_file
from dampkit.errors import BadSettings, DampkitError
from dampkit.files import whole_file
from dampkit.frozen import frozen

ENDINGS = (*SUFFIXES, ".json")
STILL_S = 1.0  # a file is whole when its size has not changed for so long
LOOK_S = 0.5
MOST_SHOWN = 100
MEMORY, MOST_KNOWN = "watched.json", 20_000  # what was there when somebody looked last; contents that were taken up
State = str  # "there before", "being written", "taken", "taken before", or why it could not be


@frozen
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
        held = self._remembered()
        self._before: dict[str, list[float]] | None = held.get("files")  # None where nobody looked before
        self._contents: dict[str, None] = dict.fromkeys(held.get("contents", ()))
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
        taken = self._taken(seen, again=True)
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
        if different or first:
            self._remember()
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
        known = first and (self._before is None or self._before.get(name) == [size, changed])
        state = "there before" if known else "being written"
        return Seen(name, size, changed, self.clock(), state, before.draft if before else "")

    def _taken(self, seen: Seen, *, again: bool = False) -> Seen:
        """The file copied into a piece of work; into the one that it became before, where it was written to again.

        Bytes that were taken up before, under whatever name, are so only where they are wanted `again`.
        """
        fresh = ""
        try:
            with regular_file(self.folder / seen.name, A_LOG) as file:
                draft = self.drafts.get(seen.draft) if seen.draft else None
                if draft is None or draft.entry is not None:
                    draft = self.drafts.new()
                    fresh = draft.id
                kept = self.drafts.take(draft, seen.name, file)
            if fresh and not again and self._is_known(kept.sha256):
                self.drafts.remove(fresh)
                return replace(seen, state="taken before")
            self.drafts.change(
                draft.id, lambda d: replace(d, records=(*(r for r in d.records if r.label != kept.label), kept))
            )
            self._contents[kept.sha256] = None
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
        self._remember()
        self.tell(seen.draft)

    def _is_known(self, sha256: str) -> bool:
        """Taken up before; or, where a stop came before that was written down, a record of work that is there."""
        held = (record.sha256 for draft in self.drafts.all() for record in draft.records)
        return sha256 in self._contents or sha256 in held

    def _remembered(self) -> dict[str, Any]:
        try:
            held = json.loads((self.drafts.folder / MEMORY).read_text(encoding="utf-8"))
            return held if held["folder"] == str(self.folder.resolve()) else {}
        except (OSError, ValueError, KeyError, TypeError):
            return {}

    def _remember(self) -> None:
        """What is still being written is new to the next start, too."""
        with self._lock:
            files = {s.name: [s.size_bytes, s.changed_s] for s in self._seen.values() if s.state != "being written"}
        contents = list(self._contents)[-MOST_KNOWN:]
        held = {"folder": str(self.folder.resolve()), "files": files, "contents": contents}
        with suppress(OSError, DampkitError), whole_file(self.drafts.folder / MEMORY, private=True) as draft:
            draft.write_text(json.dumps(held), encoding="utf-8")

    def _run(self) -> None:
        while not self._over.wait(LOOK_S):
            self.look()


def _is_record(entry: os.DirEntry[str]) -> bool:
    name = entry.name.lower()
    return name.endswith(ENDINGS) and not name.startswith(".") and entry.is_file(follow_symlinks=False)
