"""What work costs, counted so that every machine gives the same answer."""

from __future__ import annotations

import sys
import tracemalloc
from collections.abc import Callable
from types import FrameType
from typing import Any


def calls(work: Callable[[], object]) -> int:
    """How many functions are called, compiled ones too: work done row by row shows as calls in proportion to the rows."""
    count = 0

    def seen(frame: FrameType, event: str, argument: Any) -> None:
        nonlocal count
        count += event in ("call", "c_call")

    before = sys.getprofile()
    sys.setprofile(seen)
    try:
        work()
    finally:
        sys.setprofile(before)
    return count


def peak_bytes(work: Callable[[], object]) -> int:
    """Most memory held at once, arrays included: comparing all rows with all shows here."""
    tracemalloc.start()
    try:
        work()
        return tracemalloc.get_traced_memory()[1]
    finally:
        tracemalloc.stop()
