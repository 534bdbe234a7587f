"""Server-sent events: what has changed, told to every page that listens."""

from __future__ import annotations

import asyncio
from collections.abc import AsyncGenerator

MOST = 100  # pages that listen at once
BEAT_S = 15.0  # a word in between, so that a line that is cut is noticed
BEHIND = 100  # words that wait for one page


class Feed:
    """`tell` may be called from any thread."""

    def __init__(self) -> None:
        self._ears: set[asyncio.Queue[str]] = set()
        self._loop: asyncio.AbstractEventLoop | None = None
        self._over = asyncio.Event()

    def tell(self, what: str) -> None:
        """`what` is the place that changed: `book`, `folder`, `work/ID`, or `done` and the page that waited."""
        loop = self._loop
        if loop is not None and not loop.is_closed():
            loop.call_soon_threadsafe(self._spread, what)

    def close(self) -> None:
        """Let every page go, so that the server can end."""
        self._over.set()

    @property
    def full(self) -> bool:
        return len(self._ears) >= MOST

    async def events(self) -> AsyncGenerator[bytes, None]:
        """The stream for one page, until it goes or the server ends."""
        self._loop = asyncio.get_running_loop()
        ear: asyncio.Queue[str] = asyncio.Queue(BEHIND)
        self._ears.add(ear)
        try:
            yield b"retry: 2000\n\n"
            while not self._over.is_set():
                try:
                    what = await asyncio.wait_for(ear.get(), BEAT_S)
                    yield f"data: {what}\n\n".encode()
                except TimeoutError:
                    yield b": still here\n\n"
        finally:
            self._ears.discard(ear)

    def _spread(self, what: str) -> None:
        for ear in self._ears:
            if not ear.full():
                ear.put_nowait(what)
