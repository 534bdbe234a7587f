"""Everything declared for one test: bench, damper, vehicle, inspection, costs and stock, each of them optional.

The models of the kinds are imported only where one is declared, as each takes a while.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict
from importlib import import_module
from os import PathLike
from pathlib import Path
from typing import TYPE_CHECKING, Any

from dampkit.errors import BadSettings, together
from dampkit.frozen import frozen

if TYPE_CHECKING:
    from dampkit.bench.declared import BenchSpec
    from dampkit.damper.declared import DamperSpec
    from dampkit.needs.declared import VehicleSpec
    from dampkit.outcome.change.stock import Stock
    from dampkit.outcome.costs import CostSpec
    from dampkit.outcome.inspection import InspectionSpec

Source = str | PathLike[str] | Mapping[str, Any] | None  # a TOML file, or its content as a mapping

MODELS = {
    "bench": ("dampkit.bench.declared", "BenchSpec"),
    "damper": ("dampkit.damper.declared", "DamperSpec"),
    "vehicle": ("dampkit.needs.declared", "VehicleSpec"),
    "inspection": ("dampkit.outcome.inspection", "InspectionSpec"),
    "costs": ("dampkit.outcome.costs", "CostSpec"),
    "stock": ("dampkit.outcome.change.stock", "Stock"),
}
BESIDE = {"workshop": ("dampkit.outcome.workshop", "WorkshopSpec")}  # declared files that no analysis asks for
OF_ONE_UNIT = ("inspection",)  # a file of this kind is never shared by the logs of a folder


@frozen
class Job:
    """What was declared, checked; None where it was not.

    Examples
    --------
    >>> job = dampkit.Job.load(bench={"zero": {"force_n": 1.5}})
    >>> job.bench.zero.force_n, job.damper
    (1.5, None)
    """

    bench: BenchSpec | None = None
    damper: DamperSpec | None = None
    vehicle: VehicleSpec | None = None
    inspection: InspectionSpec | None = None
    costs: CostSpec | None = None
    stock: Stock | None = None

    @classmethod
    def load(
        cls,
        bench: BenchSpec | Source = None,
        damper: DamperSpec | Source = None,
        vehicle: VehicleSpec | Source = None,
        inspection: InspectionSpec | Source = None,
        costs: CostSpec | Source = None,
        stock: Stock | Source = None,
    ) -> Job:
        """Each from a TOML file, from its content as a mapping, or as it was read before.

        Raises BadSettings for unusable ones, all of them told at once.
        """
        given = (bench, damper, vehicle, inspection, costs, stock)
        checked: list[Any] = []
        wrong: list[BadSettings] = []
        for kind, source in zip(MODELS, given, strict=True):
            try:
                checked.append(_checked(kind, source))
            except BadSettings as error:
                wrong.append(error)
        if wrong:
            raise together(wrong)
        return cls(*checked)


@frozen
class JobFiles:
    """The TOML files of a job; None where there is none.

    Examples
    --------
    >>> from pathlib import Path
    >>> dampkit.JobFiles().beside(Path("sample_runs/low_oil.csv")).damper.name
    'low_oil.damper.toml'
    """

    bench: Path | None = None
    damper: Path | None = None
    vehicle: Path | None = None
    inspection: Path | None = None
    costs: Path | None = None
    stock: Path | None = None

    @property
    def by_kind(self) -> dict[str, Path | None]:
        return asdict(self)

    def beside(self, log: Path) -> JobFiles:
        """For each kind: RUN.bench.toml beside RUN.csv; else the one named; else bench.toml in the log's folder."""
        return JobFiles(**{kind: _nearest(log, kind, named) for kind, named in self.by_kind.items()})

    def load(self) -> Job:
        """Raises BadSettings for an unusable file."""
        return Job.load(**self.by_kind)


def _checked(kind: str, source: Any) -> Any:
    if source is None:
        return None
    from dampkit.bench.toml_file import declared

    return declared(source, model_of(kind))


def model_of(kind: str) -> Any:
    """The model of one kind of declared file, imported now."""
    module, name = {**MODELS, **BESIDE}[kind]
    return getattr(import_module(module), name)


def _nearest(log: Path, kind: str, named: Path | None) -> Path | None:
    own, shared = log.with_name(f"{log.stem}.{kind}.toml"), log.with_name(f"{kind}.toml")
    if own.is_file():
        return own
    return named or (shared if kind not in OF_ONE_UNIT and shared.is_file() else None)
