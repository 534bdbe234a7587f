"""`dampkit compare`: a left and a right unit, before and after, or a batch against its median."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

from dampkit.app.fits import Fitted, fitted
from dampkit.app.folder import write_leading
from dampkit.app.making import Units
from dampkit.app.say import say
from dampkit.errors import BadSettings
from dampkit.expected.known_good import USUAL_SPEEDS_M_S
from dampkit.files import check_outputs
from dampkit.job import Job, JobFiles
from dampkit.outcome.compare import (
    GOOD_PERCENT,
    PAIR_PERCENT,
    Difference,
    Tested,
    against_others,
    differences,
    matched,
    well_matched,
    which_to_change,
)
from dampkit.outcome.result import ReferencePoint
from dampkit.quantities import number

if TYPE_CHECKING:
    from dampkit.outcome.result import Result
    from dampkit.report.document import Look

MATCHED = {
    "in": "matched: no difference that matters at any speed both were tested at",
    "out": "not matched: a difference matters",
    "not established": "not established: too close to call, a direction or speed not tested in both, or data or a fit in doubt",
}

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


def compare(logs: Sequence[Path], files: JobFiles, allow: float | None, pages: Pages) -> None:
    """Print what differs, how surely, and whether it matters; write the page of it where one is asked for."""
    if pages.before_after and len(logs) != 2:
        found = f"{len(logs)} logs with --before-after"
        raise BadSettings("dampkit compare", found, "two logs: before, then after", "name two, or leave it out")
    if pages.report is not None:
        check_outputs([pages.report], [*logs, *files.by_kind.values()])
    percent = PAIR_PERCENT if allow is None else allow
    job = files.load()
    runs = fitted(logs, job)
    speeds = _speeds(job)
    lines = _pair(runs, speeds, percent, pages.before_after) if len(runs) == 2 else _batch(runs, speeds, percent)
    say("\n".join(lines))
    if pages.report is not None or pages.folder is not None:
        for place in _written(runs, speeds, percent, pages):
            say(f"written: {place}")


def _written(runs: list[Fitted], speeds: Sequence[float], percent: float, pages: Pages) -> list[Path]:
    from dampkit.report.pair_page import Runs, render_pair

    results = tuple(run.result for run in runs)
    fits = [run.fit for run in runs]
    if len(runs) == 2:
        first, second = (
            _tested(run, result) for run, result in zip(_named(runs, results, pages), results, strict=True)
        )
        found: tuple[tuple[Difference, ...], ...] = (differences(first.fit, second.fit, speeds, percent),)
        advice = results[1].verdict.next_step if pages.before_after else which_to_change(first, second, found[0])
    else:
        found = tuple(against_others(fits, n, speeds, percent) for n in range(len(runs)))
        advice = _apart(runs, found)
    shown = Runs(
        "before-after" if pages.before_after else "pair" if len(runs) == 2 else "batch",
        tuple(run.name for run in _named(runs, results, pages)), results, found, advice, percent,
    )  # fmt: skip

    def render(look: Look, links: tuple[str, ...]) -> str:
        return render_pair(replace(shown, pages=links), look)

    return write_leading(pages.report, pages.folder, pages.units, results, render)


def _apart(runs: Sequence[Fitted], found: Sequence[Sequence[Difference]]) -> str:
    """What to do with a batch."""
    apart = [Path(run.name).stem for run, own in zip(runs, found, strict=True) if matched(own) == "out"]
    if not apart:
        return "None has to be changed for the others' sake."
    return f"Look at {', '.join(apart)} first: open or set what stands apart, and run it again."


def _named(runs: Sequence[Fitted], results: Sequence[Result], pages: Pages) -> list[Fitted]:
    """The runs by names for a reader: before and after, the serials where they differ, else the files."""
    serials = [result.damper.serial for result in results]
    if pages.before_after:
        names = ["before", "after"]
    elif all(serials) and len(set(serials)) == len(serials):
        names = [str(serial) for serial in serials]
    else:
        names = [Path(run.name).stem for run in runs]
        names = names if len(set(names)) == len(names) else [run.name for run in runs]
    return [replace(run, name=name) for run, name in zip(runs, names, strict=True)]


def _speeds(job: Job) -> tuple[float, ...]:
    spec = job.damper
    return USUAL_SPEEDS_M_S if spec is None or spec.reference is None else spec.reference.velocity_m_s


def _pair(runs: list[Fitted], speeds: Sequence[float], percent: float, before_after: bool) -> list[str]:
    first, second = (_tested(run, run.result) for run in runs)
    found = differences(first.fit, second.fit, speeds, percent)
    head = f"{first.name} less {second.name}, friction in, gas out; allowed {percent:g} % of the mean or 25 N"
    if before_after:
        return [
            head,
            *_table(found),
            f"  after the work: {CHANGED[matched(found)]}; its own verdict is {second.action}",
        ]
    return [
        head,
        *_table(found),
        f"  pair: {_pair_word(found, runs)}",
        f"  {which_to_change(first, second, found)}",
    ]


def _pair_word(found: Sequence[Difference], runs: Sequence[Fitted]) -> str:
    bad = any(q.severity == "bad" for run in runs for q in (*run.run.quality, *run.fit.quality))
    answer = matched(found, bad)
    good = answer == "in" and well_matched(found)
    return f"{MATCHED[answer]}{WELL if good else ''}"


def _batch(runs: list[Fitted], speeds: Sequence[float], percent: float) -> list[str]:
    lines = [f"{len(runs)} units, each against the median of the others; allowed {percent:g} % of the mean or 25 N"]
    fits = [run.fit for run in runs]
    for i, run in enumerate(runs):
        found = against_others(fits, i, speeds, percent)
        lines += [f"{run.name}: {MATCHED[matched(found)]}", *_table([d for d in found if d.answer != "in"])]
    return lines


def _tested(run: Fitted, result: Result) -> Tested:
    return Tested(run.name, run.fit, result.verdict.action, _worst(result.reference))


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
