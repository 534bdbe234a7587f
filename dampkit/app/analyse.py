"""`dampkit analyse`: files in, a result out, and a few plain lines for the bench."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import dampkit
from dampkit.analyse import analyse_job
from dampkit.app.json_out import json_file, tell
from dampkit.app.making import Wanted, check_next_test, outputs
from dampkit.app.say import say
from dampkit.bench.declared import BenchSpec
from dampkit.files import check_outputs
from dampkit.outcome.about import About

if TYPE_CHECKING:
    from dampkit.app.library_files import FromLibrary
    from dampkit.outcome.result import Result

NOTHING_SAID = About()


def analyse(
    logs: Sequence[Path],
    found: FromLibrary,
    json_to: str | None,
    wanted: Wanted,
    *,
    said: About = NOTHING_SAID,
    fail_on_fault: bool = False,
    as_logged: bool = False,
) -> int:
    """Analyse one test, in one record or several, write what was asked for, print the summary; returns the exit status."""
    files = found.files
    check_next_test(wanted.next_test)
    written = [place for place in (wanted.report, wanted.sheets, wanted.next_test) if place is not None]
    check_outputs([*json_file(json_to), *written], [*logs, *files.by_kind.values()])
    job = files.load()
    test = dampkit.read_test(logs, (job.bench or BenchSpec()).used_as_logged(as_logged))
    result = said.put_on(analyse_job(test.remarked(found.quality), job))
    tell(json_to, result.to_dict, summary(result), outputs(result, wanted))
    if wanted.next_test is not None and result.next_test is None:
        say(f"not written: {wanted.next_test}, since the verdict waits for no test", err=True)
    if not fail_on_fault or result.verdict.action == "fit":
        return 0
    say(f"dampkit: {logs[0]}: the verdict is {result.verdict.action!r}, expected 'fit'", err=True)
    say(f"  Do: {result.verdict.next_step}", err=True)
    return 1


def summary(result: Result) -> list[str]:
    """Verdict, reasons, faults and next step, a line each."""
    from dampkit.report.deciding import leaves_words

    verdict = result.verdict
    more = f" and {len(result.run.files) - 1} more" if len(result.run.files) > 1 else ""
    lines = [f"{result.run.file}{more}: {verdict.action}"]
    lines += [f"  because {reason}" for reason in verdict.reasons]
    lines += [f"  {fault.level}: {fault.sentence} (likelihood {fault.likelihood:.0%})" for fault in result.faults]
    lines += [f"  {entry.severity}: {entry.message}" for entry in result.quality if entry.severity != "note"]
    if result.advice is not None:
        lines += [f"  change: {part.do}" for part in result.advice.parts]
        lines += [f"  change: {text}" for text in [leaves_words(result.advice)] if text]
    if result.courses is not None:
        lines += [f"  cost: {reason}" for reason in result.courses.reasons]
    return [*lines, f"  next: {verdict.next_step}"]
