"""Which logs a batch is about, and the settings that go with each."""

from __future__ import annotations

import glob
import hashlib
import json
import os
import re
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

SUFFIXES = (".csv", ".tsv", ".txt", ".xlsx", ".xls", ".ods", ".gz")
BY_FOLDER, UNIT = "folder", "{unit}"


def find_logs(named: Sequence[str], leave_out: Path) -> list[Path]:
    """Logs in folders (and the folders in them), by pattern, or by name; each once, in the order of their names.

    In a folder only text, spreadsheets and .gz count, by pattern also .json, and nothing inside `leave_out`.
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


def together(logs: Sequence[Path], how: str | None) -> list[tuple[Path, ...]]:
    """The records of each test, in the order of their names, numbers in them by size; one a test where `how` is None.

    `how` is `folder`, a folder a unit, or a pattern of names in which `{unit}` stands for the unit's part. Logs that do
    not fit the pattern are tests of their own. Raises BadSettings for a pattern without it.
    """
    if how is None:
        return [(log,) for log in logs]
    if how != BY_FOLDER and how.count(UNIT) != 1:
        expected = f"{BY_FOLDER!r}, or a pattern such as '{UNIT}_*.csv'"
        raise BadSettings("--together", f"found {how!r}", expected, f"mark the unit's part of the name with {UNIT}")
    tests: dict[tuple[Path, str], list[Path]] = {}
    for log in logs:
        tests.setdefault((log.parent, _unit_of(log, how)), []).append(log)
    return [tuple(sorted(test, key=_by_number)) for test in tests.values()]


def _unit_of(log: Path, how: str) -> str:
    if how == BY_FOLDER:
        return ""
    before, after = ("".join(".*" if c == "*" else re.escape(c) for c in part) for part in how.split(UNIT))
    match = re.fullmatch(f"{before}(.+?){after}", log.name)
    return f"unit {match[1]}" if match else f"file {log.name}"


def _by_number(log: Path) -> list[tuple[bool, float, str]]:
    parts = re.split(r"(\d+)", log.name)
    return [(not part.isdecimal(), float(part) if part.isdecimal() else 0.0, part) for part in parts]


@dataclass
class Plan:
    """Goes through the tests once, notes each in `place`, and gives those whose work is still to be done.

    `named` are the TOML files for logs that have none of their own. `seen` holds the keys met so far: logs with the same bytes and settings are worked on once. `send` puts the bytes of
    each log into its task, for workers that cannot read this machine's files; `ride` has the
    vehicle's ride worked out, too.
    """

    tests: Sequence[tuple[Path, ...]]
    named: JobFiles
    place: Path
    send: bool = False
    ride: bool = True
    seen: set[bytes] = field(default_factory=set)

    def tasks(self) -> Iterator[Task]:
        with self.place.open("wb") as file:
            for logs in self.tests:
                planned, task = plan_one(logs, self.named, self.send, self.ride)
                file.write(plain_json(asdict(planned)) + b"\n")
                if task is not None and bytes.fromhex(task.key) not in self.seen:
                    self.seen.add(bytes.fromhex(task.key))
                    yield task

    def read(self) -> Iterator[Planned]:
        """The logs as they were noted, in order."""
        with self.place.open("rb") as file:
            for line in file:
                noted = json.loads(line)
                yield Planned(**{**noted, "error": tuple(noted["error"]), "more": tuple(noted.get("more", ()))})


def plan_one(logs: tuple[Path, ...], named: JobFiles, send: bool, ride: bool = True) -> tuple[Planned, Task | None]:
    """A test's key and task; no task where a record of it or its settings cannot be read."""
    name, *more = (str(log).encode(errors="replace").decode() for log in logs)
    try:
        beside = named.beside(logs[0])
        hashed = [_hashed(log, send) for log in logs]
        hashes = tuple(sha256 for sha256, _ in hashed)
        job = beside.load()
        settings = read_settings(beside).sha256 + ("" if ride or job.vehicle is None else " without ride")
        key = key_of(" ".join(hashes), settings, dampkit.__version__)
    except DampkitError as error:
        return Planned(name, None, tuple(error.lines()), error.exit_status, tuple(more)), None
    data = tuple(content or b"" for _, content in hashed) if send else None
    return Planned(name, key, more=tuple(more)), Task(name, logs, key, hashes, data, job, ride)


def _matching(name: str) -> list[Path]:
    path = Path(name)
    if path.is_dir():
        return [file for file in path.rglob("*") if file.suffix.lower() in SUFFIXES and file.is_file()]
    if path.exists() or not glob.has_magic(name):
        return [path]
    matches = (Path(match) for match in glob.glob(name, recursive=True))
    allowed = (*SUFFIXES, ".json") if name.lower().endswith(".json") else SUFFIXES
    return [match for match in matches if match.suffix.lower() in allowed and match.is_file()]


def _hashed(log: Path, send: bool) -> tuple[str, bytes | None]:
    if send:
        data = file_bytes(log, A_LOG)
        return hashlib.sha256(data).hexdigest(), data
    with regular_file(log, A_LOG) as file:
        return hashlib.file_digest(file, "sha256").hexdigest(), None  # type: ignore[arg-type]
