"""dampkit: from a damper bench log to a verdict.

run = dampkit.read_run("RUN.csv", bench="BENCH.toml")
result = dampkit.analyse(run, damper="DAMPER.toml", vehicle="VEHICLE.toml")
dampkit.write_report(result, "OUT.html")
"""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

from dampkit.analyse import analyse, analyse_job
from dampkit.job import Job, JobFiles
from dampkit.version import __version__

if TYPE_CHECKING:
    from dampkit.bench.declared import BenchSpec
    from dampkit.bench.run import Run
    from dampkit.bench.test import Test
    from dampkit.outcome.result import Result

__all__ = ["Job", "JobFiles", "__version__", "analyse", "analyse_job", "read_run", "read_test", "write_report"]


def read_run(path: str | Path, bench: str | Path | BenchSpec | None = None) -> Run:
    """A bench log in SI and the package's signs. Raises UnreadableLog or BadSettings."""
    from dampkit.bench.read import read_run as read

    return read(path, bench)


def read_test(paths: Sequence[str | Path], bench: str | Path | BenchSpec | None = None) -> Test:
    """One test of one unit in several records, in the order given: a file a speed, say. Raises as `read_run`."""
    from dampkit.bench.test import read_test as read

    return read(paths, bench)


def write_report(result: Result | dict[str, Any], path: str | Path, imperial: bool = False) -> None:
    """One self-contained HTML page; `imperial` writes pounds and inches beside SI."""
    from dampkit.report.document import Look
    from dampkit.report.page import write_report as write

    write(result, path, Look(imperial))
