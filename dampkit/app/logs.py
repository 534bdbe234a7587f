"""Which logs a batch is about, and the settings that go with each."""

from __future__ import annotations

import glob
import hashlib
import json
import os
from collections.abc import Iterator, Sequence
from dataclasses import asdict, dataclass, field
from pathlib import Path

import dampkit
from dampkit.app.work import Task
from dampkit.bench.gate import A_LOG, file_bytes, regular_file
from dampkit.errors import BadSettings, DampkitError
from dampkit.job import JobFiles
from dampkit.store.content import plain_json
from dampkit.store.outcomes import Planned, key_of
from dampkit.store.settings import read_settings

SUFFIXES = (".csv", ".tsv", ".txt")


def find_logs(named: Sequence[str], leave_out: Path) -> list[Path]:
    """Logs in folders (and the folders in them), by pattern, or by name; each once, in the order of their names.

    In a folder or by pattern only .csv, .tsv and .txt files count, and nothing inside `leave_out`.
    Raises BadSettings where there is none at all.
    """
    found: dict[Path, Path] = {}
    for name in named:
        for path in _matching(name):
            found.setdefault(Path(os.path.realpath(path)), path)
    inside = leave_out.resolve()
    logs = sorted(path for whole, path in found.items() if inside not in whole.parents)
    if not logs:
        expected = f"a folder, a pattern or names of {', '.join(SUFFIXES)} files"
        raise BadSettings(", ".join(named) or "batch", "no log found", expected, "check the path and the spelling")
    return logs


@dataclass
class Plan:
    """Goes through the logs once, notes each in `place`, and gives those whose work is still to be done.

    `named` are the TOML files for logs that have none of their own. `seen` holds the keys met so far: logs with the same bytes and settings are worked on once. `send` puts the bytes of
    each log into its task, for workers that cannot read this machine's files.
    """

    logs: Sequence[Path]
    named: JobFiles
    place: Path
    send: bool = False
    seen: set[bytes] = field(default_factory=set)

    def tasks(self) -> Iterator[Task]:
        with self.place.open("wb") as file:
            for log in self.logs:
                planned, task = plan_one(log, self.named, self.send)
                file.write(plain_json(asdict(planned)) + b"\n")
                if task is not None and bytes.fromhex(task.key) not in self.seen:
                    self.seen.add(bytes.fromhex(task.key))
                    yield task

    def read(self) -> Iterator[Planned]:
        """The logs as they were noted, in order."""
        with self.place.open("rb") as file:
            for line in file:
                noted = json.loads(line)
                yield Planned(**{**noted, "error": tuple(noted["error"])})


def plan_one(log: Path, named: JobFiles, send: bool) -> tuple[Planned, Task | None]:
    """A log's key and task; no task where the log or its settings cannot be read."""
    name = str(log).encode(errors="replace").decode()
    try:
        beside = named.beside(log)
        sha256, data = _hashed(log, send)
        key = key_of(sha256, read_settings(beside).sha256, dampkit.__version__)
        job = beside.load()
    except DampkitError as error:
        return Planned(name, None, tuple(error.lines()), error.exit_status), None
    return Planned(name, key), Task(name, log, key, sha256, data, job)


def _matching(name: str) -> list[Path]:
    path = Path(name)
    if path.is_dir():
        return [file for file in path.rglob("*") if file.suffix.lower() in SUFFIXES and file.is_file()]
    if path.exists() or not glob.has_magic(name):
        return [path]
    matches = (Path(match) for match in glob.glob(name, recursive=True))
    return [match for match in matches if match.suffix.lower() in SUFFIXES and match.is_file()]


def _hashed(log: Path, send: bool) -> tuple[str, bytes | None]:
    if send:
        data = file_bytes(log, A_LOG)
        return hashlib.sha256(data).hexdigest(), data
    with regular_file(log, A_LOG) as file:
        return hashlib.file_digest(file, "sha256").hexdigest(), None  # type: ignore[arg-type]
