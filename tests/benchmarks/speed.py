"""Time and memory against doing next to nothing, whole processes paired in one run: python -m tests.benchmarks.speed

- a 2,000,000-row log (50 MB): `dampkit analyse LOG --json OUT` (read, loops, fit, faults, verdict; no page) against
  `python -c "import pandas, scipy.optimize; pandas.read_csv(LOG)"`. Wanted: at most 2.0 times as long, and at most 6
  times the file's size of memory.
- the start: `dampkit --help` against `python -c "import typer"`. Wanted: at most 1.5 times as long.
- 0.1, 0.5, 2 and 8 million rows: time in proportion.
- a page; one unit and forty on the made-up bench.

Every figure is the median over rounds in which the two take turns; memory is the largest resident size of the process,
and no command here starts another. `--quick` runs three rounds on 200,000 rows, and no 8 million. Figures mean little
on a busy machine: the load is printed with them.
"""

from __future__ import annotations

import argparse
import os
import subprocess
import sys
import tempfile
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from statistics import median

from tests.benchmarks.long_log import write_long_log

TIMES, MEMORY, START = 2.0, 6.0, 1.5
ROWS = 2_000_000
MANY = (100_000, 500_000, 2_000_000, 8_000_000)
BARE = "import pandas, scipy.optimize; pandas.read_csv({!r})"


@dataclass(frozen=True)
class Spent:
    """Of one process: wall time, processor time, largest resident memory."""

    passed_s: float
    busy_s: float
    peak_mb: float


METER = """
import os, sys, time
silent = [(os.POSIX_SPAWN_OPEN, 1, os.devnull, os.O_WRONLY, 0o600)]
started = time.perf_counter()
process = os.posix_spawn(sys.argv[1], sys.argv[1:], os.environ, file_actions=silent)
_, status, usage = os.wait4(process, 0)
passed = time.perf_counter() - started
print(os.waitstatus_to_exitcode(status), passed, usage.ru_utime + usage.ru_stime, usage.ru_maxrss / 1024)
"""


def spent(words: Sequence[str]) -> Spent:
    """Run a command to its end, its output thrown away. Raises SystemExit where it fails.

    Measured by a small process between: Linux counts the size of whoever starts a process as the process's own.
    """
    between = subprocess.run([sys.executable, "-S", "-c", METER, *words], capture_output=True, text=True, check=True)
    status, *figures = between.stdout.split()
    if status != "0":
        raise SystemExit(f"{' '.join(words)} ended with status {status}")
    return Spent(*(float(figure) for figure in figures))


def analyse(log: Path) -> list[str]:
    out = log.with_suffix(".json")
    bench = log.with_suffix(".bench.toml")
    return [*DAMPKIT, "analyse", str(log), "--bench", str(bench), "--json", str(out)]


def bare(log: Path) -> list[str]:
    return [sys.executable, "-c", BARE.format(str(log))]


DAMPKIT = [str(Path(sys.executable).with_name("dampkit"))]


@dataclass(frozen=True)
class Paired:
    ours: tuple[Spent, ...]
    theirs: tuple[Spent, ...]

    @property
    def ratio(self) -> float:
        """Median of the ratios of wall times, round by round."""
        return median(a.passed_s / b.passed_s for a, b in zip(self.ours, self.theirs, strict=True))

    @property
    def busy_ratio(self) -> float:
        return median(a.busy_s / b.busy_s for a, b in zip(self.ours, self.theirs, strict=True))


def paired(ours: Sequence[str], theirs: Sequence[str], rounds: int) -> Paired:
    """The two in turn, after one unmeasured go each; every other round the second goes first."""
    spent(ours), spent(theirs)
    found: list[tuple[Spent, Spent]] = []
    for i in range(rounds):
        if i % 2:
            second = spent(theirs)
            found.append((spent(ours), second))
        else:
            found.append((spent(ours), spent(theirs)))
    return Paired(tuple(a for a, _ in found), tuple(b for _, b in found))


def told(name: str, found: Paired, most: float) -> None:
    ours, theirs = (median(s.passed_s for s in side) for side in (found.ours, found.theirs))
    verdict = "as wanted" if found.ratio <= most else "MORE than wanted"
    print(
        f"{name}: {ours:.2f} s against {theirs:.2f} s, ratio {found.ratio:.2f} (processor time {found.busy_ratio:.2f});"
        f" at most {most:g}: {verdict}",
        flush=True,
    )


def parts_of_it() -> None:
    """Processor time of a page and of the made-up bench, the quickest of three."""
    import numpy as np

    from dampkit.report.page import render
    from dampkit.virtual.programme import standard_programme
    from dampkit.virtual.rig import Rig, run_bench
    from dampkit.virtual.units import MONOTUBE, TWIN_TUBE
    from tests.benchmarks.ride import processor_s
    from tests.report.made_up import sound

    def bench(count: int) -> float:
        units = [TWIN_TUBE, MONOTUBE][:count] * max(1, count // 2)
        return processor_s(lambda: run_bench(units, standard_programme(), Rig(), np.random.default_rng(0)))

    alone, fleet = bench(1), bench(40)
    print(f"page: {processor_s(lambda: render(sound())):.3f} s", flush=True)
    print(f"made-up bench: {alone:.2f} s for one unit, {fleet / 40:.3f} s a unit for 40 side by side", flush=True)


def main(rounds: int, rows: int, many: Sequence[int]) -> None:
    print(f"load when begun: {os.getloadavg()[0]:.1f} on {os.cpu_count()} cores")
    parts_of_it()
    told("start", paired([*DAMPKIT, "--help"], [sys.executable, "-c", "import typer"], 2 * rounds), START)
    with tempfile.TemporaryDirectory() as folder:
        log = write_long_log(Path(folder) / "long.csv", rows)
        size_mb = log.stat().st_size / 1e6
        found = paired(analyse(log), bare(log), rounds)
        told(f"{rows} rows, {size_mb:.0f} MB", found, TIMES)
        peak = median(s.peak_mb for s in found.ours) * 1.048576
        verdict = "as wanted" if peak / size_mb <= MEMORY else "MORE than wanted"
        print(f"memory: {peak:.0f} MB, {peak / size_mb:.1f} times the file; at most {MEMORY:g}: {verdict}", flush=True)
        log.unlink()
        for count in many:
            log = write_long_log(Path(folder) / "many.csv", count)
            each = [spent(analyse(log)) for _ in range(3)]
            took, busy = median(s.passed_s for s in each), median(s.busy_s for s in each)
            print(f"{count} rows: {took:.2f} s, processor {busy:.2f} s, {1e6 * took / count:.2f} us a row", flush=True)
            log.unlink()
    print(f"load when ended: {os.getloadavg()[0]:.1f}")


if __name__ == "__main__":
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--rounds", type=int, default=7)
    parser.add_argument("--quick", action="store_true")
    given = parser.parse_args()
    main(3, 200_000, MANY[:2]) if given.quick else main(given.rounds, ROWS, MANY)
