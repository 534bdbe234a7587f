"""`dampkit analyse`: files in, a result out, and a few plain lines for the bench."""

from __future__ import annotations

import json
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import dampkit
from dampkit.analyse import analyse_job
from dampkit.app.making import Wanted, outputs
from dampkit.app.say import say
from dampkit.bench.declared import BenchSpec
from dampkit.files import check_outputs, text_output, write_all
from dampkit.job import JobFiles
from dampkit.outcome.about import About

if TYPE_CHECKING:
    from dampkit.outcome.result import Result

TO_STDOUT = "-"
NOTHING_SAID = About()


def analyse(
    logs: Sequence[Path],
    files: JobFiles,
    json_to: str | None,
    wanted: Wanted,
    *,
    said: About = NOTHING_SAID,
    fail_on_fault: bool = False,
    as_logged: bool = False,
) -> int:
    """Analyse one test, in one record or several, write what was asked for, print the summary; returns the exit status."""
    to_stdout = json_to == TO_STDOUT
    json_file = Path(json_to) if json_to and not to_stdout else None
    check_outputs([p for p in (json_file, wanted.report) if p], [*logs, *files.by_kind.values()])
    job = files.load()
    test = dampkit.read_test(logs, (job.bench or BenchSpec()).used_as_logged(as_logged))
    result = said.put_on(analyse_job(test, job))
    text = json.dumps(result.to_dict(), indent=1, allow_nan=False) + "\n"
    made = [text_output(json_file, text)] if json_file else []
    made += outputs(result, wanted)
    write_all(made)
    say(text if to_stdout else "\n".join(summary(result)), nl=not to_stdout)
    for output in made:
        say(f"written: {output.path}", err=to_stdout)
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
