"""Work for a process that does not end well, as functions that another process can import."""

from __future__ import annotations

import os
import time
from pathlib import Path


def for_ever() -> int:
    """Never an answer; the interpreter's lock is held in between, as numerical code does."""
    while True:
        sum(range(10**7))


def too_much() -> int:
    """More memory than any limit here."""
    return len(bytearray(2**40))


def dies() -> int:
    os._exit(3)


def dies_once(place: str) -> int:
    """As where the system ends a process, which does not happen again."""
    if not Path(place).exists():
        Path(place).touch()
        os._exit(3)
    return 7


def patient(seconds: float) -> int:
    time.sleep(seconds)
    return 7


def plain(number: int) -> int:
    return number + 1
