"""`dampkit compare`: a left and a right unit, before and after, or a batch against its median."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import typer

import dampkit
from dampkit.app.fits import Fitted, Side, fitted
from dampkit.outcome.compare import (
    Difference,
    Unit,
    against_others,
    differences,
    matched,
    which_to_change,
)
from dampkit.outcome.known_good import USUAL_SPEEDS_M_S
from dampkit.outcome.result import ReferencePoint
from dampkit.quantities import number

MATCHED = {
    "in": "matched: no difference that matters",
    "out": "not matched: a difference matters",
    "not established": "not established: too close to call, or not tested at the same speeds",
}


def compare(logs: Sequence[Path], side: Side, percent: float) -> None:
    """Print what differs, how surely, and whether it matters."""
    runs = fitted(logs, side)
    speeds = _speeds(side)
    lines = _pair(runs, side, speeds, percent) if len(runs) == 2 else _batch(runs, speeds, percent)
    typer.echo("\n".join(lines))


def _speeds(side: Side) -> tuple[float, ...]:
    spec = side.damper_spec
    return USUAL_SPEEDS_M_S if spec is None or spec.reference is None else spec.reference.velocity_m_s


def _pair(runs: list[Fitted], side: Side, speeds: Sequence[float], percent: float) -> list[str]:
    first, second = (_unit(run, side) for run in runs)
    found = differences(first.fit, second.fit, speeds, percent)
    head = f"{first.name} less {second.name}, friction in, gas out; allowed {percent:g} % of the mean or 25 N"
    return [
        head,
        *_table(found),
        f"  pair: {MATCHED[matched(found)]}",
        f"  {which_to_change(first, second, found)}",
    ]


def _batch(runs: list[Fitted], speeds: Sequence[float], percent: float) -> list[str]:
    lines = [f"{len(runs)} units, each against the median of the others; allowed {percent:g} % of the mean or 25 N"]
    fits = [run.fit for run in runs]
    for i, run in enumerate(runs):
        found = against_others(fits, i, speeds, percent)
        lines += [f"{run.name}: {MATCHED[matched(found)]}", *_table([d for d in found if d.answer != "in"])]
    return lines


def _unit(run: Fitted, side: Side) -> Unit:
    result = dampkit.analyse(run.run, damper=side.damper_spec, vehicle=side.vehicle_spec)
    return Unit(run.name, run.fit, result.verdict.action, _worst(result.reference))


def _worst(reference: Sequence[ReferencePoint] | None) -> float | None:
    tested = [p for p in reference or () if p.measured_n is not None]
    if not tested:
        return None
    return max(abs((p.measured_n or 0.0) - p.reference_n) / max(p.high_n - p.reference_n, 1e-9) for p in tested)


def _table(found: Sequence[Difference]) -> list[str]:
    """A line each: what was measured, the difference with its interval, whether it is real, whether it matters."""
    words = {"in": "does not matter", "out": "matters", "not established": "too close to call"}
    return [
        f"  {d.direction} at {d.velocity_m_s:g} m/s: {number(d.first_n)} and {number(d.second_n)} N, "
        f"{d.gap_n.value:+.0f} N ({d.gap_n.low:+.0f} to {d.gap_n.high:+.0f}), {d.gap_percent:+.1f} %; "
        f"{'a real difference' if d.significant else 'within the doubt of measuring'}, {words[d.answer]}"
        for d in found
    ]
