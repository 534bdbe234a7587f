"""`dampkit analyse`: files in, a result out, and a few plain lines for the bench."""

from __future__ import annotations

import json
from dataclasses import dataclass
from importlib import import_module
from pathlib import Path
from typing import TYPE_CHECKING, Any

import typer

import dampkit
from dampkit.app.files import check_outputs, text_output, write_all
from dampkit.app.making import Wanted, outputs
from dampkit.bench.declared import BenchSpec
from dampkit.bench.toml_file import declared
from dampkit.damper.declared import DamperSpec

if TYPE_CHECKING:
    from dampkit.outcome.result import Result

TO_STDOUT = "-"


@dataclass(frozen=True)
class Files:
    """What a command reads."""

    run: Path
    bench: Path | None = None
    damper: Path | None = None
    vehicle: Path | None = None
    inspection: Path | None = None
    costs: Path | None = None
    stock: Path | None = None
    as_logged: bool = False

    @property
    def all(self) -> list[Path | None]:
        return [self.run, self.bench, self.damper, self.vehicle, self.inspection, self.costs, self.stock]


def analyse(files: Files, json_to: str | None, wanted: Wanted, *, fail_on_fault: bool = False) -> int:
    """Analyse one log, write what was asked for, print the summary; returns the exit status."""
    to_stdout = json_to == TO_STDOUT
    json_file = Path(json_to) if json_to and not to_stdout else None
    check_outputs([p for p in (json_file, wanted.report) if p], files.all)
    bench = (declared(files.bench, BenchSpec) or BenchSpec()).used_as_logged(files.as_logged)
    damper = declared(files.damper, DamperSpec)
    vehicle = _declared(files.vehicle, "dampkit.needs.declared", "VehicleSpec")
    inspection = _declared(files.inspection, "dampkit.outcome.inspection", "InspectionSpec")
    costs = _declared(files.costs, "dampkit.outcome.costs", "CostSpec")
    stock = _declared(files.stock, "dampkit.outcome.change.stock", "Stock")
    run = dampkit.read_run(files.run, bench)
    result = dampkit.analyse(run, damper, vehicle, inspection=inspection, costs=costs, stock=stock)
    text = json.dumps(result.to_dict(), indent=1, allow_nan=False) + "\n"
    made = [text_output(json_file, text)] if json_file else []
    made += outputs(result, wanted)
    write_all(made)
    typer.echo(text if to_stdout else "\n".join(summary(result)), nl=not to_stdout)
    for output in made:
        typer.echo(f"written: {output.path}", err=to_stdout)
    if not fail_on_fault or result.verdict.action == "fit":
        return 0
    typer.echo(f"dampkit: {files.run}: the verdict is {result.verdict.action!r}, expected 'fit'", err=True)
    typer.echo(f"  Do: {result.verdict.next_step}", err=True)
    return 1


def _declared(path: Path | None, module: str, name: str) -> Any:
    """What a TOML file declares; its model is imported only where there is a file, as each takes a while."""
    return None if path is None else declared(path, getattr(import_module(module), name))


def summary(result: Result) -> list[str]:
    """Verdict, reasons, faults and next step, a line each."""
    verdict = result.verdict
    lines = [f"{result.run.file}: {verdict.action}"]
    lines += [f"  because {reason}" for reason in verdict.reasons]
    lines += [f"  {fault.level}: {fault.sentence} (likelihood {fault.likelihood:.0%})" for fault in result.faults]
    lines += [f"  {entry.severity}: {entry.message}" for entry in result.quality if entry.severity != "note"]
    if result.advice is not None:
        lines += [f"  change: {part.do}" for part in result.advice.parts]
    if result.courses is not None:
        lines += [f"  cost: {reason}" for reason in result.courses.reasons]
    return [*lines, f"  next: {verdict.next_step}"]
