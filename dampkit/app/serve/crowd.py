"""Connections that are held without a request: ended after a while, and few from one address, so that none shuts others out."""

from __future__ import annotations

import asyncio
from collections import Counter
from dataclasses import dataclass, field
from typing import Any

from uvicorn import Config
from uvicorn.protocols.http.h11_impl import H11Protocol

HEAD_S = 10.0  # from a connection, or from the answer before, to the whole head of a request
MOST_FROM_ONE = 48  # connections from one address elsewhere: a browser holds six, and some tablets may share an address
MOST = 400  # connections in all
HERE = "127.0.0.1"  # this machine's own browsers, and a proxy on it, which counts for itself


@dataclass
class Crowd:
    """How many connections each address has."""

    most_from_one: int = MOST_FROM_ONE
    head_s: float = HEAD_S
    free: tuple[str, ...] = (HERE,)
    held: Counter[str] = field(default_factory=Counter)

    def protocol(self) -> type[asyncio.Protocol]:
        """For the server: each connection counted, and its head waited for no longer than that."""
        crowd = self

        class Counted(H11Protocol):
            waiting: asyncio.TimerHandle | None = None

            def connection_made(self, transport: Any) -> None:
                super().connection_made(transport)
                self.address = self.client[0] if self.client else ""
                crowd.held[self.address] += 1
                if self.address not in crowd.free and crowd.held[self.address] > crowd.most_from_one:
                    transport.abort()
                else:
                    self._wait()

            def connection_lost(self, exc: Exception | None) -> None:
                self._come()
                crowd.held -= Counter({self.address: 1})
                super().connection_lost(exc)

            def data_received(self, data: bytes) -> None:
                super().data_received(data)
                if self._asked():
                    self._come()
                elif self.waiting is None:
                    self._wait()

            def _asked(self) -> bool:
                """Whether a request has come whose answer is not whole yet."""
                return self.cycle is not None and not self.cycle.response_complete

            def _wait(self) -> None:
                self.waiting = self.loop.call_later(crowd.head_s, self.transport.abort)

            def _come(self) -> None:
                if self.waiting is not None:
                    self.waiting.cancel()
                    self.waiting = None

        return Counted


def limited(app: Any, crowd: Crowd, **more: Any) -> Config:
    """How the server is set: no log of its own, no word on what it is, and bounds on what may be held open."""
    bounds: dict[str, Any] = {"limit_concurrency": MOST, "h11_max_incomplete_event_size": 2**16}
    quiet: dict[str, Any] = {"log_level": "error", "access_log": False, "server_header": False}
    return Config(app, http=crowd.protocol(), lifespan="off", proxy_headers=False, **{**bounds, **quiet, **more})
