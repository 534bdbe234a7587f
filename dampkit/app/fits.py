"""Several logs to fits, for the commands that hold runs side by side."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import dampkit
from dampkit.bench.declared import BenchSpec
from dampkit.bench.run import Run
from dampkit.bench.toml_file import declared
from dampkit.damper.declared import DamperSpec
from dampkit.damper.unit import Unit
from dampkit.errors import BadSettings
from dampkit.needs.declared import VehicleSpec


@dataclass(frozen=True)
class Side:
    """What the runs share; each file may be left out."""

    bench: Path | None = None
    damper: Path | None = None
    vehicle: Path | None = None

    @property
    def bench_spec(self) -> BenchSpec | None:
        return declared(self.bench, BenchSpec)

    @property
    def damper_spec(self) -> DamperSpec | None:
        return declared(self.damper, DamperSpec)

    @property
    def vehicle_spec(self) -> VehicleSpec | None:
        return declared(self.vehicle, VehicleSpec)


@dataclass(frozen=True)
class Fitted:
    name: str
    run: Run
    fit: Unit


def fitted(logs: Sequence[Path], side: Side, at_least: int = 2) -> list[Fitted]:
    """Each log read and fitted, in the order given.

    Raises BadSettings for too few logs or the same log twice; UnreadableLog and CannotAnalyse as `analyse`.
    """
    from dampkit.curves.trace import trace
    from dampkit.damper.identify import identify

    if len(logs) < at_least:
        raise BadSettings("logs", f"found {len(logs)}", f"at least {at_least} logs", "name them after the command")
    bench, damper = side.bench_spec, side.damper_spec
    out: list[Fitted] = []
    for path in logs:
        run = dampkit.read_run(path, bench)
        same = next((f.name for f in out if f.run.sha256 == run.sha256), None)
        if same is not None:
            raise BadSettings(str(path), f"the same log as {same}", "a different run each", "check the names")
        out.append(Fitted(str(path), run, identify(trace(run), damper)))
    return out
