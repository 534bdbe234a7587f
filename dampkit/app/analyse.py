"""`dampkit analyse`: files in, a result out, and a few plain lines for the bench; `dampkit page`: the page of a stored result."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

import dampkit
from dampkit.analyse import analyse_job
from dampkit.app.json_out import JsonOption, json_file, tell
from dampkit.app.letterhead import Workshop
from dampkit.app.making import OF_RESULT, NextTestOption, Wanted, check_next_test, outputs
from dampkit.app.options import SAID, AllFiles, AsLogged, Book, Options, Records
from dampkit.app.say import say
from dampkit.errors import BadSettings
from dampkit.files import check_outputs, write_all
from dampkit.job import JobFiles
from dampkit.outcome.about import About

if TYPE_CHECKING:
    from dampkit.bench.run import Quality
    from dampkit.outcome.result import Result


def analyse_command(
    runs: Records,
    files: AllFiles,
    wanted: Annotated[Wanted, Options(**OF_RESULT, next_test=NextTestOption)],
    said: Annotated[About, SAID],
    json_to: JsonOption = None,
    fail_on_fault: Annotated[
        bool, typer.Option("--fail-on-fault", help="End with status 1 unless the verdict is fit.")
    ] = False,
    as_logged: AsLogged = False,
    workshop: Workshop = None,
    book: Book = None,
) -> None:
    from dampkit.bench.declared import BenchSpec

    wanted, said, next_test = wanted.headed(workshop, book), said.checked(), wanted.next_test
    check_next_test(next_test)
    with _named(book, said, files) as (files, quality):
        written = [place for place in (wanted.report, wanted.sheets, next_test) if place is not None]
        check_outputs([*json_file(json_to), *written], [*runs, *files.by_kind.values()])
        declared = files.load()
        test = dampkit.read_test(runs, (declared.bench or BenchSpec()).used_as_logged(as_logged)).remarked(quality)
        result = said.put_on(analyse_job(test, declared))
        tell(json_to, result.to_dict, summary(result), outputs(result, wanted))
    if next_test is not None and result.next_test is None:
        say(f"not written: {next_test}, since the verdict waits for no test", err=True)
    if fail_on_fault and result.verdict.action != "fit":
        say(f"dampkit: {runs[0]}: the verdict is {result.verdict.action!r}, expected 'fit'", err=True)
        say(f"  Do: {result.verdict.next_step}", err=True)
        raise typer.Exit(1)


@contextmanager
def _named(book: Path | None, said: About, files: JobFiles) -> Iterator[tuple[JobFiles, tuple[Quality, ...]]]:
    """With the cards of the library that are named; only then is the book opened. Raises as `store.from_library`."""
    if not (said.unit_type or said.vehicle or said.bench):
        yield files, ()
        return
    from dampkit.store.from_library import Named, from_library
    from dampkit.store.place import default_place

    named = Named(said.unit_type, said.vehicle, said.bench, said.tested_on or "")
    with from_library(book or default_place(), named, files) as found:
        yield found


def summary(result: Result) -> list[str]:
    """Verdict, reasons, faults and next step, a line each."""
    from dampkit.report.sentences import faults_said, leaves_words

    verdict = result.verdict
    more = f" and {len(result.run.files) - 1} more" if len(result.run.files) > 1 else ""
    lines = [f"{result.run.file}{more}: {verdict.action}"]
    lines += [f"  because {reason}" for reason in verdict.reasons]
    for fault, (level, sure) in zip(result.faults, faults_said(result), strict=True):
        lines.append(f"  {level}: {fault.sentence}{f' (likelihood {sure})' if sure else ''}")
    lines += [f"  {entry.severity}: {entry.message}" for entry in result.quality if entry.severity != "note"]
    if result.advice is not None:
        lines += [f"  change: {part.do}" for part in result.advice.parts]
        lines += [f"  change: {text}" for text in [leaves_words(result.advice)] if text]
    if result.courses is not None:
        lines += [f"  cost: {reason}" for reason in result.courses.reasons]
    return [*lines, f"  next: {verdict.next_step}"]


def page_command(
    stored: Annotated[
        Path, typer.Argument(metavar="RESULT.json", help="As `analyse --json` writes it.", show_default=False)
    ],
    wanted: Annotated[Wanted, Options(**OF_RESULT)],
    workshop: Workshop = None,
    book: Book = None,
) -> None:
    from dampkit.report.page import stored_result

    if not (wanted.report or wanted.sheets or wanted.figures or wanted.numbers):
        found = "nothing to make was named"
        raise BadSettings("dampkit page", found, "--report, --sheets, --figures or --numbers", "name what to make")
    made = outputs(stored_result(stored), wanted.headed(workshop, book))
    check_outputs([output.path for output in made], [stored])
    write_all(made)
    for output in made:
        say(f"written: {output.path}")
