"""`dampkit compare`: a left and a right unit, before and after, or a batch against its median."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Annotated

import typer

from dampkit.app.folder import Logs, PagesOptions, fitted_shown
from dampkit.app.json_out import tell
from dampkit.app.options import CarFiles
from dampkit.app.say import aligned, on_terminal

if TYPE_CHECKING:
    from dampkit.outcome.compare import Difference
    from dampkit.outcome.side_by_side import Comparison
    from dampkit.report.document import Look

MATCHED = {
    "in": "matched: no difference that matters at any speed both were tested at",
    "out": "not matched: a difference matters",
    "not established": "not established: too close to call, a direction or speed not tested in both, or data or a fit in doubt",
}

HEADS = ("direction", "m/s", "first, N", "second, N", "difference, N", "%", "difference", "answer")

CHANGED = {
    "in": "no change that matters",
    "out": "changed",
    "not established": "not established whether it changed: too close to call, or not tested at the same speeds",
}


def compare_command(
    runs: Logs,
    files: CarFiles,
    pages: PagesOptions,
    allow: Annotated[
        float | None,
        typer.Option(
            "--allow", min=0.0, help="Percent by which two units may differ; 10 unless said.", show_default=False
        ),
    ] = None,
    before_after: Annotated[
        bool, typer.Option("--before-after", help="One unit before and after work on it, in this order.")
    ] = False,
) -> None:
    from dampkit.outcome.side_by_side import compare as compared
    from dampkit.outcome.side_by_side_record import compare_record

    pages.check([*runs, *files.by_kind.values()])
    found = compared(fitted_shown(runs, files.load()), allow, before_after=before_after)
    lines = _batch(found) if found.kind == "batch" else _pair(found)
    tell(pages.json_to, lambda: compare_record(found).model_dump(mode="json"), lines)

    def render(look: Look, links: tuple[str, ...]) -> str:
        from dampkit.report.pair_page import Runs, render_pair

        shown = Runs(found.kind, found.names, found.results, found.found, found.advice, found.percent, pages=links)
        return render_pair(shown, look)

    pages.write(found.results, render)


def _pair(found: Comparison) -> list[str]:
    from dampkit.outcome.compare import GOOD_PERCENT

    first, second = (run.name for run in found.runs)
    head = f"{first} less {second}, friction in, gas out; allowed {found.percent:g} % of the mean or 25 N"
    lines = [head, *_table(found.found[0])]
    answer = found.answers[0]
    if found.kind == "before-after":
        own = found.results[1].verdict.action
        return [*lines, f"  after the work: {CHANGED[answer]}; its own verdict is {own}"]
    well = f", and within {GOOD_PERCENT:g} %: well matched" if found.well_matched else ""
    word = f"{MATCHED[answer]}{well}"
    return [*lines, f"  pair: {word}", f"  {found.advice_by((first, second))}"]


def _batch(found: Comparison) -> list[str]:
    each = f"each against the median of the others; allowed {found.percent:g} % of the mean or 25 N"
    lines = [f"{len(found.runs)} units, {each}"]
    for run, own, answer in zip(found.runs, found.found, found.answers, strict=True):
        lines += [f"{run.name}: {MATCHED[answer]}", *_table([d for d in own if d.answer != "in"])]
    return lines


def _table(found: Sequence[Difference]) -> list[str]:
    """A line each: what was measured, the difference with its interval, whether it is real, whether it matters."""
    from dampkit.quantities import number
    from dampkit.report.words import MATTERS

    if on_terminal() and found:
        return aligned([HEADS, *(_cells(d, MATTERS[d.answer]) for d in found)])
    return [
        f"  {d.direction} at {d.velocity_m_s:.3g} m/s: {number(d.first_n)} and {number(d.second_n)} N, "
        f"{d.gap_n.value:+.0f} N ({d.gap_n.low:+.0f} to {d.gap_n.high:+.0f}), {d.gap_percent:+.1f} %; "
        f"{'a real difference' if d.significant else 'within the doubt of measuring'}, {MATTERS[d.answer]}"
        for d in found
    ]


def _cells(d: Difference, answer: str) -> tuple[str, ...]:
    from dampkit.quantities import number

    gap = f"{d.gap_n.value:+.0f} ({d.gap_n.low:+.0f} to {d.gap_n.high:+.0f})"
    seen = "real" if d.significant else "within the doubt"
    speed, first, second = f"{d.velocity_m_s:.3g}", number(d.first_n), number(d.second_n)
    return d.direction, speed, first, second, gap, f"{d.gap_percent:+.1f}", seen, answer
