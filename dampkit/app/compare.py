"""`dampkit compare`: a left and a right unit, before and after, or a batch against its median."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from dampkit.app.fits import fitted_shown
from dampkit.app.folder import Folder, Logs, Report, write_leading
from dampkit.app.json_out import JsonOption, json_file, tell, tell_written
from dampkit.app.making import Units, UnitsOption
from dampkit.app.options import Bench, Damper, Vehicle
from dampkit.app.say import aligned, on_terminal
from dampkit.files import check_outputs
from dampkit.job import JobFiles
from dampkit.outcome.compare import GOOD_PERCENT, Difference
from dampkit.outcome.side_by_side import Comparison
from dampkit.outcome.side_by_side import compare as compared
from dampkit.outcome.side_by_side_record import compare_record
from dampkit.quantities import number

if TYPE_CHECKING:
    from dampkit.report.document import Look

MATCHED = {
    "in": "matched: no difference that matters at any speed both were tested at",
    "out": "not matched: a difference matters",
    "not established": "not established: too close to call, a direction or speed not tested in both, or data or a fit in doubt",
}

HEADS = ("direction", "m/s", "first, N", "second, N", "difference, N", "%", "difference", "answer")
WELL = f", and within {GOOD_PERCENT:g} %: well matched"

CHANGED = {
    "in": "no change that matters",
    "out": "changed",
    "not established": "not established whether it changed: too close to call, or not tested at the same speeds",
}


@dataclass(frozen=True)
class Pages:
    """What is to be written; `before_after` says that the two runs are one unit before and after work on it."""

    report: Path | None = None
    folder: Path | None = None
    units: Units = Units.si
    before_after: bool = False
    json_to: str | None = None


def compare_command(
    runs: Logs,
    bench: Bench = None,
    damper: Damper = None,
    vehicle: Vehicle = None,
    allow: Annotated[
        float | None,
        typer.Option(
            "--allow", min=0.0, help="Percent by which two units may differ; 10 unless said.", show_default=False
        ),
    ] = None,
    before_after: Annotated[
        bool, typer.Option("--before-after", help="One unit before and after work on it, in this order.")
    ] = False,
    report: Report = None,
    pages: Folder = None,
    units: UnitsOption = Units.si,
    json_to: JsonOption = None,
) -> None:
    compare(runs, JobFiles(bench, damper, vehicle), allow, Pages(report, pages, units, before_after, json_to))


def compare(logs: Sequence[Path], files: JobFiles, allow: float | None, pages: Pages) -> None:
    """Print what differs, how surely, and whether it matters; write the page of it where one is asked for."""
    made = [*json_file(pages.json_to), *([pages.report] if pages.report else [])]
    check_outputs(made, [*logs, *files.by_kind.values()])
    found_all = compared(fitted_shown(logs, files.load()), allow, before_after=pages.before_after)
    lines = _batch(found_all) if found_all.kind == "batch" else _pair(found_all)
    tell(pages.json_to, lambda: compare_record(found_all).model_dump(mode="json"), lines)
    if pages.report is not None or pages.folder is not None:
        tell_written(_written(found_all, pages), pages.json_to)


def _written(found: Comparison, pages: Pages) -> list[Path]:
    from dampkit.report.pair_page import Runs, render_pair

    shown = Runs(found.kind, found.names, found.results, found.found, found.advice, found.percent)

    def render(look: Look, links: tuple[str, ...]) -> str:
        return render_pair(replace(shown, pages=links), look)

    return write_leading(pages.report, pages.folder, pages.units, found.results, render)


def _pair(found: Comparison) -> list[str]:
    first, second = (run.name for run in found.runs)
    head = f"{first} less {second}, friction in, gas out; allowed {found.percent:g} % of the mean or 25 N"
    lines = [head, *_table(found.found[0])]
    answer = found.answers[0]
    if found.kind == "before-after":
        own = found.results[1].verdict.action
        return [*lines, f"  after the work: {CHANGED[answer]}; its own verdict is {own}"]
    word = f"{MATCHED[answer]}{WELL if found.well_matched else ''}"
    return [*lines, f"  pair: {word}", f"  {found.advice_by((first, second))}"]


def _batch(found: Comparison) -> list[str]:
    each = f"each against the median of the others; allowed {found.percent:g} % of the mean or 25 N"
    lines = [f"{len(found.runs)} units, {each}"]
    for run, own, answer in zip(found.runs, found.found, found.answers, strict=True):
        lines += [f"{run.name}: {MATCHED[answer]}", *_table([d for d in own if d.answer != "in"])]
    return lines


def _table(found: Sequence[Difference]) -> list[str]:
    """A line each: what was measured, the difference with its interval, whether it is real, whether it matters."""
    words = {"in": "does not matter", "out": "matters", "not established": "too close to call"}
    if on_terminal() and found:
        return aligned([HEADS, *(_cells(d, words[d.answer]) for d in found)])
    return [
        f"  {d.direction} at {d.velocity_m_s:g} m/s: {number(d.first_n)} and {number(d.second_n)} N, "
        f"{d.gap_n.value:+.0f} N ({d.gap_n.low:+.0f} to {d.gap_n.high:+.0f}), {d.gap_percent:+.1f} %; "
        f"{'a real difference' if d.significant else 'within the doubt of measuring'}, {words[d.answer]}"
        for d in found
    ]


def _cells(d: Difference, answer: str) -> tuple[str, ...]:
    gap = f"{d.gap_n.value:+.0f} ({d.gap_n.low:+.0f} to {d.gap_n.high:+.0f})"
    seen = "real" if d.significant else "within the doubt"
    speed, first, second = f"{d.velocity_m_s:.3g}", number(d.first_n), number(d.second_n)
    return d.direction, speed, first, second, gap, f"{d.gap_percent:+.1f}", seen, answer
