"""Whoever holds connections open without asking for anything shuts nobody out: a server on a socket, attacked."""

from __future__ import annotations

import contextlib
import socket
import threading
import time
import urllib.error
import urllib.request
from collections.abc import Callable, Iterator

import pytest
import uvicorn

from dampkit.app.serve.crowd import HEAD_S, MOST, MOST_FROM_ONE, Crowd, limited

FEW = 6  # connections that this small server holds
BEGUN = b"GET / HTTP/1.1\r\nhost: x\r\n"


async def answering(scope: object, receive: object, send: object) -> None:
    await send({"type": "http.response.start", "status": 200, "headers": [(b"content-length", b"2")]})  # type: ignore[operator]
    await send({"type": "http.response.body", "body": b"ok"})  # type: ignore[operator]


@contextlib.contextmanager
def serving(crowd: Crowd) -> Iterator[tuple[str, int]]:
    with socket.socket() as ear:
        ear.bind(("127.0.0.1", 0))
        ear.listen(128)
        server = uvicorn.Server(limited(answering, crowd, limit_concurrency=FEW + 1))
        server.install_signal_handlers = lambda: None  # type: ignore[attr-defined]
        thread = threading.Thread(target=server.run, kwargs={"sockets": [ear]})
        thread.start()
        try:
            yield ear.getsockname()
        finally:
            server.should_exit = True
            thread.join()


def held(at: tuple[str, int], begun: bytes = BEGUN) -> socket.socket:
    line = socket.create_connection(at)
    line.sendall(begun)
    if b"\r\n\r\n" in begun:
        line.recv(1000)  # the answer to the first
    return line


def asked(at: tuple[str, int]) -> int:
    """The status of an answer; 0 where the line was cut before there was one."""
    try:
        with urllib.request.urlopen(f"http://{at[0]}:{at[1]}/") as answer:
            return int(answer.status)
    except urllib.error.HTTPError as error:
        return error.code
    except OSError:
        return 0


def comes_in(at: tuple[str, int]) -> bool:
    """Whether somebody is answered in the end; far more tries than any machine needs."""
    for _ in range(2000):
        if asked(at) == 200:
            return True
        time.sleep(0.02)
    return False


def until(there: Callable[[], bool]) -> None:
    for _ in range(2000):
        if there():
            return
        time.sleep(0.01)
    raise AssertionError("it never came to that")


def drip(lines: list[socket.socket], over: threading.Event) -> None:
    """A byte of a header on every line, again and again, until all are cut."""
    while lines and not over.wait(0.05):
        for line in list(lines):
            try:
                line.sendall(b"x")
            except OSError:
                lines.remove(line)


@pytest.mark.parametrize("begun", [b"", BEGUN, BEGUN + b"\r\n" + BEGUN])
def test_slow_heads_are_cut_and_others_come_in(begun: bytes) -> None:
    """Nothing sent, a head that never ends, and one that never ends after a request that was answered."""
    with serving(Crowd(head_s=1.0)) as at:
        lines, over = [held(at, begun) for _ in range(FEW)], threading.Event()
        dripping = threading.Thread(target=drip, args=(list(lines) if begun else [], over))
        dripping.start()
        came = comes_in(at)
        over.set()
        dripping.join()
        assert came
        for line in lines:
            line.close()


def test_one_address_holds_few_of_the_lines() -> None:
    crowd = Crowd(most_from_one=FEW - 2, free=())
    with serving(crowd) as at:
        lines = [held(at) for _ in range(FEW - 2)]
        until(lambda: crowd.held["127.0.0.1"] == FEW - 2)
        assert asked(at) == 0  # one more from there
        crowd.free = ("127.0.0.1",)
        assert asked(at) == 200  # and from an address that is not counted
        for line in lines:
            line.close()
        until(lambda: crowd.held["127.0.0.1"] == 0)
        crowd.free = ()
        assert asked(at) == 200


def test_the_bounds_leave_room_for_others() -> None:
    """An address alone cannot hold all lines; a head takes far less than that to come on the slowest network."""
    assert 4 * MOST_FROM_ONE < MOST
    assert HEAD_S > 1.0
