"""Done work of a batch, one small file a log under a key of content, settings and version; that is how it resumes."""

from __future__ import annotations

import gzip
import json
import zlib
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from dampkit.files import whole_file
from dampkit.frozen import frozen
from dampkit.store.content import plain_json, sha256_of
from dampkit.store.measures import measured
from dampkit.store.table import Kind, Row, measure_columns, numbers

BUG = 70
PACKED = 4  # a twentieth larger than 9 makes it, in a third of its time
COLUMNS: dict[str, Kind] = {
    "file": "text",
    "status": "count",
    "action": "text",
    "serial": "text",
    "kind": "text",
    "faults": "text",
    "suspected": "text",
    "reason": "text",
    "error": "text",
    "stages": "count",
    "top_speed_m_s": "number",
    **measure_columns(),
    "log_sha256": "text",
    "key": "text",
}


@frozen
class Outcome:
    """What became of one log: a result with status 0, or the lines of its error with the exit status that it means."""

    key: str
    log_sha256: str
    status: int
    result: dict[str, Any] | None = None
    error: tuple[str, ...] = ()

    @property
    def lasting(self) -> bool:
        """The same log would end the same way again; a fault of the program or of the machine is tried again."""
        return self.status != BUG


@frozen
class Planned:
    """A log of the batch: its name as the person gave it, and the key of its work; no key where it cannot be read."""

    file: str
    key: str | None
    error: tuple[str, ...] = ()
    status: int = 0
    more: tuple[str, ...] = ()  # the other records of the same test


def key_of(log_sha256: str, settings_sha256: str, version: str) -> str:
    return sha256_of(plain_json([log_sha256, settings_sha256, version]))


class Done:
    """The folder of done work."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder

    def place(self, key: str) -> Path:
        return self.folder / key[:2] / f"{key}.json.gz"

    def keep(self, outcome: Outcome) -> None:
        """Written whole or not at all. Raises BadSettings where the folder cannot be written to."""
        text = {"log": outcome.log_sha256, "status": outcome.status, "error": outcome.error, "result": outcome.result}
        with whole_file(self.place(outcome.key), make_folder=True) as draft:
            draft.write_bytes(gzip.compress(plain_json(text), PACKED, mtime=0))

    def lasting(self, key: str) -> Outcome | None:
        """Work that need not be done again; None where there is none, its file is damaged, or it may end otherwise."""
        found = self.get(key)
        return found if found is not None and found.lasting else None

    def get(self, key: str) -> Outcome | None:
        """None where there is no such work, or its file is damaged."""
        try:
            kept = json.loads(gzip.decompress(self.place(key).read_bytes()))
            return Outcome(key, kept["log"], kept["status"], kept["result"], tuple(kept["error"]))
        except (OSError, EOFError, zlib.error, ValueError, KeyError, TypeError):
            return None


def rows(plan: Iterator[Planned], done: Done) -> Iterator[Row]:
    """A line of the table for each log, in the order of the plan; reads one outcome at a time."""
    for planned in plan:
        outcome = None if planned.key is None else done.get(planned.key)
        if planned.key is None:
            yield {"file": planned.file, "status": planned.status, "error": "; ".join(planned.error)}
        elif outcome is None:
            yield {"file": planned.file, "status": BUG, "error": "not analysed yet", "key": planned.key}
        else:
            yield {"file": planned.file, **row(outcome)}


def row(outcome: Outcome) -> Row:
    common = {"status": outcome.status, "log_sha256": outcome.log_sha256, "key": outcome.key}
    result = outcome.result
    if result is None:
        return {**common, "error": "; ".join(outcome.error)}
    stages, reasons = result["run"]["stages"], result["verdict"]["reasons"]
    levels = {
        name: " ".join(fault["code"] for fault in result["faults"] if fault["level"] == level)
        for name, level in (("faults", "found"), ("suspected", "suspected"))
    }
    return {
        **common,
        **levels,
        **numbers(measured(result)),
        "action": result["verdict"]["action"],
        "serial": result["damper"]["serial"],
        "kind": result["damper"]["kind"],
        "reason": reasons[0] if reasons else "",
        "stages": len(stages),
        "top_speed_m_s": max((stage["peak_velocity_m_s"] for stage in stages), default=_top_read(result)),
    }


def _top_read(result: dict[str, Any]) -> float | None:
    """Of a result without stages: the fastest reading."""
    reads = [valve["reading"] for valve in result["valve"].values() if valve.get("reading")]
    return max((v for read in reads for v in read["velocity_m_s"]), default=None)
