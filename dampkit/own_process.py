"""What a process is told that is all dampkit's: one of a command, or a worker's."""

from __future__ import annotations

import gc
import os

NEW_OBJECTS = 100_000  # before cycles among them are looked for: at the usual 700 that takes a run a fifteenth of its time, for nothing


def settle() -> None:
    gc.set_threshold(NEW_OBJECTS)
    for library in ("OPENBLAS", "MKL"):  # the matrices are small: more threads only wait for each other
        os.environ.setdefault(f"{library}_NUM_THREADS", "1")
