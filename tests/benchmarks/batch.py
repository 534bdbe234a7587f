"""Many different logs of one test, and what `dampkit batch` takes for them as a person runs it, start included.

The rate of merely parsing is `dampkit.read_run` alone, over a few of the same logs.
"""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
import threading
import time
from dataclasses import dataclass, field, replace
from pathlib import Path

import numpy as np

import dampkit
from dampkit.job import MODELS
from tests.app.logs import QUICK, good_log
from tests.bench.writer import Habit, made_run, write_log
from tests.benchmarks.processes import as_installed

BATCH = [sys.executable, "-m", "dampkit.app.main", "batch"]

PARSED = 20
NOISE_N = 2.0  # without any, a fit has nothing to end by


def make_logs(folder: Path, count: int, sample: Path | None) -> list[Path]:
    """Different logs with one set of TOML files: made up, each with noise of its own, or a sample cut a row shorter each."""
    folder.mkdir()
    logs = [folder / f"{n:06d}.csv" for n in range(count)]
    settings = sample or good_log(folder.parent / "settings.csv")
    for kind in MODELS:
        if settings.with_suffix(f".{kind}.toml").exists():
            shutil.copy(settings.with_suffix(f".{kind}.toml"), folder / f"{kind}.toml")
    lines = sample.read_bytes().splitlines(keepends=True) if sample else []
    made = made_run(QUICK)
    for n, log in enumerate(logs):
        if sample:
            log.write_bytes(b"".join(lines[: len(lines) - n]))
        else:
            noise_n = np.random.default_rng(n).normal(0.0, NOISE_N, made.force_n.size)
            write_log(log, Habit(), replace(made, force_n=made.force_n + noise_n))
    return logs


@dataclass
class Peaks:
    """Largest resident memory of every process of a tree, as the system keeps it (VmHWM), in kB."""

    by_process: dict[int, int] = field(default_factory=dict)

    def watch(self, root: subprocess.Popen[bytes]) -> None:
        while root.poll() is None:
            for pid in (root.pid, *children(root.pid)):
                self.by_process[pid] = max(self.by_process.get(pid, 0), high_water_kb(pid))
            time.sleep(0.1)

    @property
    def total_mb(self) -> float:
        return sum(self.by_process.values()) / 1024


def children(pid: int) -> list[int]:
    """All processes below `pid`."""
    found: list[int] = []
    try:
        for task in Path(f"/proc/{pid}/task").iterdir():
            for child in (task / "children").read_text().split():
                found += [int(child), *children(int(child))]
    except OSError:
        pass
    return found


def high_water_kb(pid: int) -> int:
    try:
        lines = Path(f"/proc/{pid}/status").read_text().splitlines()
    except OSError:
        return 0
    return next((int(line.split()[1]) for line in lines if line.startswith("VmHWM")), 0)


@dataclass(frozen=True)
class Measured:
    passed_s: float
    busy_s: float  # of the processor, all processes
    peak_mb: float  # of all processes together


def run(folder: Path, out: Path, jobs: int) -> Measured:
    shutil.rmtree(out, ignore_errors=True)
    peaks, started, before = Peaks(), time.perf_counter(), os.times()
    process = subprocess.Popen(
        [*BATCH, str(folder), "--out", str(out), "--jobs", str(jobs)],
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
        env=as_installed(),
    )
    watcher = threading.Thread(target=peaks.watch, args=(process,))
    watcher.start()
    status = process.wait()
    passed_s = time.perf_counter() - started
    watcher.join()
    if status != 0:
        raise SystemExit(f"the batch ended with status {status}")
    after = os.times()
    busy_s = after.children_user + after.children_system - before.children_user - before.children_system
    return Measured(passed_s, busy_s, peaks.total_mb)


def parsed_s(logs: list[Path]) -> float:
    """Processor seconds a log for reading alone, after one to warm up."""
    bench = logs[0].with_name("bench.toml")
    dampkit.read_run(logs[0], bench)
    started = time.process_time()
    for log in logs:
        dampkit.read_run(log, bench)
    return (time.process_time() - started) / len(logs)
