"""dampkit: from a damper bench log to a verdict.

>>> run = dampkit.read_run("sample_runs/low_oil.csv", bench="sample_runs/low_oil.bench.toml")
>>> result = dampkit.analyse(run, damper="sample_runs/low_oil.damper.toml")
>>> result.verdict.action
'rebuild'

What is stable: the names in `dampkit.__all__`, their parameters, the fields of what they return that their docstrings
name, the units in those names, the classes of errors, and every key of `to_dict()`. They are only added to within one
first number of the version; what must go warns for one such version before. Numbers may change where a method gets
better, and DEVELOPERS.md says so. Everything else (`dampkit.bench` and the other rooms) may change at any time. Importing
`dampkit` imports none of numpy, pandas, plotly or pydantic: they come with the first call that needs them.
"""

from __future__ import annotations

import importlib
from typing import TYPE_CHECKING, Any

import dampkit.curves  # noqa: F401  the room, before the function takes its name: from then on imports leave the name alone
from dampkit.analyse import analyse, analyse_job, curves, diagnose, fit, need
from dampkit.errors import BadSettings, CannotAnalyse, DampkitError, DataError, UnreadableLog, UnusableBook
from dampkit.job import Job, JobFiles
from dampkit.records import load_result, open_book, read_run, read_test, write_report
from dampkit.side_by_side import batch, compare, reference, settings
from dampkit.version import __version__

if TYPE_CHECKING:
    from dampkit.bench.points import Points as Points
    from dampkit.bench.run import Run as Run
    from dampkit.bench.test import Test as Test
    from dampkit.curves.loop import Curves as Curves
    from dampkit.damper.unit import Unit as Unit
    from dampkit.expected.known_good import KnownGood as KnownGood
    from dampkit.faults.diagnose import Diagnosis as Diagnosis
    from dampkit.outcome.choice import Settings as Settings
    from dampkit.outcome.result import Result as Result
    from dampkit.outcome.side_by_side import Comparison as Comparison
    from dampkit.outcome.vehicle_record import NeedResult as NeedResult
    from dampkit.store.batch import Batch as Batch
    from dampkit.store.book import Book as Book

_LATE = {
    "Batch": "dampkit.store.batch",
    "Book": "dampkit.store.book",
    "Comparison": "dampkit.outcome.side_by_side",
    "Curves": "dampkit.curves.loop",
    "Diagnosis": "dampkit.faults.diagnose",
    "KnownGood": "dampkit.expected.known_good",
    "NeedResult": "dampkit.outcome.vehicle_record",
    "Points": "dampkit.bench.points",
    "Result": "dampkit.outcome.result",
    "Run": "dampkit.bench.run",
    "Settings": "dampkit.outcome.choice",
    "Test": "dampkit.bench.test",
    "Unit": "dampkit.damper.unit",
}

__all__ = [
    "BadSettings",
    "Batch",
    "Book",
    "CannotAnalyse",
    "Comparison",
    "Curves",
    "DampkitError",
    "DataError",
    "Diagnosis",
    "Job",
    "JobFiles",
    "KnownGood",
    "NeedResult",
    "Points",
    "Result",
    "Run",
    "Settings",
    "Test",
    "Unit",
    "UnreadableLog",
    "UnusableBook",
    "__version__",
    "analyse",
    "analyse_job",
    "batch",
    "compare",
    "curves",
    "diagnose",
    "fit",
    "load_result",
    "need",
    "open_book",
    "read_run",
    "read_test",
    "reference",
    "settings",
    "write_report",
]


def __getattr__(name: str) -> Any:
    """The classes of what the calls return, imported when they are first named."""
    if name in _LATE:
        return getattr(importlib.import_module(_LATE[name]), name)
    raise AttributeError(f"module 'dampkit' has no attribute {name!r}")


def __dir__() -> list[str]:
    return sorted(__all__)
