"""`dampkit batch`: many logs, over the processes of this machine or a cluster, into one table and one page."""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from tempfile import TemporaryFile
from typing import IO, TYPE_CHECKING, Annotated, Any

import typer

from dampkit.app.at_book import person
from dampkit.app.cluster import connected, still_connected
from dampkit.app.letterhead import letterhead_for
from dampkit.app.making import Units, UnitsOption
from dampkit.app.options import AllFiles, Options, Who
from dampkit.app.progress import Progress
from dampkit.app.say import say
from dampkit.errors import BadSettings, DampkitError
from dampkit.frozen import frozen
from dampkit.job import JobFiles

if TYPE_CHECKING:
    from markupsafe import Markup

    from dampkit.app.logs import Plan
    from dampkit.app.work import Task
    from dampkit.report.document import Look
    from dampkit.store.book import Book as OpenBook
    from dampkit.store.many import Crew
    from dampkit.store.outcomes import Done, Planned
    from dampkit.store.table import Row


@frozen
class Wishes:
    """How a batch is to be done and what is to be made of it."""

    out: Path = Path("batch-out")
    together: str | None = None  # which records are one test; see `logs.together`
    jobs: int = 0  # processes; 0 is one a processor
    cluster: str | None = None
    book: Path | None = None
    who: str | None = None
    again: bool = False
    pages: bool = False
    ride: bool = False
    units: Units = Units.si
    fail_on_fault: bool = False

    @property
    def with_ride(self) -> bool:
        """Pages and a job book have it anyway."""
        return self.ride or self.pages or self.book is not None


def _flag(name: str, text: str) -> Any:
    return Annotated[bool, typer.Option(name, help=text)]


WISHES = Options(
    out=Annotated[Path, typer.Option(metavar="DIR", help="Folder for results, table and page.")],
    together=Annotated[str | None, typer.Option(
        metavar="folder|PATTERN", help="Records of one unit are one test: a folder a unit, or '{unit}_*.csv'.")],
    jobs=Annotated[int, typer.Option(metavar="N", help="Processes; 0 is one a processor.", min=0)],
    cluster=Annotated[str | None, typer.Option(
        metavar="tcp://HOST:PORT", help="Work on a running cluster instead.")],
    book=Annotated[Path | None, typer.Option(metavar="BOOK.sqlite", help="Add what was analysed to this job book.")],
    who=Who,
    again=_flag("--again", "Also logs that were done before."),
    pages=_flag("--pages", "Also a page for each unit; they share one plotly file."),
    ride=_flag("--ride", "Also the vehicle's ride, which pages and a job book have anyway."),
    units=UnitsOption,
    fail_on_fault=_flag("--fail-on-fault", "End with status 1 unless every verdict is fit."),
)  # fmt: skip


def batch_command(
    logs: Annotated[
        list[str], typer.Argument(metavar="FOLDER|PATTERN|LOG...", help="What to analyse.", show_default=False)
    ],
    files: AllFiles,
    wishes: Annotated[Wishes, WISHES],
) -> None:
    """RUN.bench.toml, RUN.damper.toml and so on beside a log go before the files named here."""
    raise typer.Exit(batch(logs, files, wishes))


def batch(named: Sequence[str], files: JobFiles, wishes: Wishes) -> int:
    """Analyse every log, write table and page into `wishes.out`; returns the exit status of the worst log.

    Raises BadSettings where no log is found, the folder cannot be written to, or the cluster cannot be used.
    """
    from dampkit.app.logs import Plan, find_logs, together
    from dampkit.app.work import analyse_task, lost
    from dampkit.store.many import work_through
    from dampkit.store.outcomes import Done, rows

    tests = together(find_logs(named, wishes.out), wishes.together)
    _folder(wishes.out)
    plan = Plan(tests, files, wishes.out / "logs.jsonl", send=wishes.cluster is not None, ride=wishes.with_ride)
    done = Done(wishes.out / "results")
    progress = Progress(len(tests))
    with _crew(wishes) as crew:
        for outcome in work_through(_left(plan, done, progress, wishes.again), analyse_task, lost, crew):
            done.keep(outcome)
            progress.step(outcome.status != 0)
            still_connected(crew.client)
    progress.end()
    say(progress.line(0.0), err=True)
    with TemporaryFile() as file:
        lines = _Kept(rows(plan.read(), done), file)
        _write(plan, done, wishes, lines)
        status = _status(lines, wishes.fail_on_fault)
    if wishes.book is not None:
        say(_into_book(wishes.book, plan, done, person(wishes.who)), err=True)
    return status


def _folder(out: Path) -> None:
    try:
        out.mkdir(parents=True, exist_ok=True)
        (out / "logs.jsonl").open("ab").close()
    except OSError as error:
        found = f"cannot be written to: {error.strerror or error}"
        raise BadSettings(str(out), found, "a folder for the results", "choose another --out") from None


@contextmanager
def _crew(wishes: Wishes) -> Iterator[Crew]:
    from dampkit.store.many import Crew

    if wishes.cluster is None:
        from joblib import cpu_count

        yield Crew(wishes.jobs or cpu_count())
    else:
        with connected(wishes.cluster) as client:
            yield Crew(client=client)


def _left(plan: Plan, done: Done, progress: Progress, again: bool) -> Iterator[Task]:
    """The tasks that are still to be done; those done before are counted."""
    for task in plan.tasks():
        before = None if again else done.lasting(task.key)
        if before is None:
            yield task
        else:
            progress.step(before.status != 0, worked=False)


class _Kept:
    """The lines of the table, worked out once and read as often as they are needed."""

    def __init__(self, lines: Iterable[Row], file: IO[bytes]) -> None:
        from dampkit.store.content import plain_json

        self.file = file
        self.file.writelines(plain_json(line) + b"\n" for line in lines)

    def __iter__(self) -> Iterator[Row]:
        self.file.seek(0)
        yield from map(json.loads, self.file)


def _write(plan: Plan, done: Done, wishes: Wishes, lines: Iterable[Row]) -> None:
    from dampkit.report.document import SHARED_LIBRARY, Look
    from dampkit.store.batch_page import write_batch_page
    from dampkit.store.outcomes import COLUMNS
    from dampkit.store.table import write_csv, write_parquet

    out = wishes.out
    write_csv(out / "table.csv", COLUMNS, lines)
    say(f"written: {out / 'table.csv'}")
    try:
        write_parquet(out / "table.parquet", COLUMNS, lines)
        say(f"written: {out / 'table.parquet'}")
    except BadSettings as error:
        say("\n".join(error.lines()), err=True)
    head = letterhead_for(None, wishes.book)
    if wishes.pages:
        _pages(plan, done, out / "pages", Look(wishes.units == Units.imperial, SHARED_LIBRARY, head))
    write_batch_page(out / "index.html", lines, wishes.pages, lambda key: _stamp(done, key), head)
    say(f"written: {out / 'index.html'}")


def _pages(plan: Plan, done: Done, folder: Path, look: Look) -> None:
    """A page for each unit, and plotly once for all of them."""
    from dampkit.report.document import write_library
    from dampkit.report.page import write_report

    folder.mkdir(exist_ok=True)
    write_library(folder)
    for planned in plan.read():
        outcome = done.get(planned.key) if planned.key else None
        if outcome is not None and outcome.result is not None:
            write_report(outcome.result, folder / f"{outcome.key}.html", look)


def _stamp(done: Done, key: str) -> Markup:
    from markupsafe import Markup

    from dampkit.report.figure_file import thumbnail

    outcome = done.get(key)
    return Markup("") if outcome is None or outcome.result is None else thumbnail(outcome.result)


def _status(lines: Iterable[Row], fail_on_fault: bool) -> int:
    worst = 0
    for row in lines:
        fault = fail_on_fault and row["status"] == 0 and row["action"] != "fit"
        worst = max(worst, row["status"], int(fault))
    return worst


def _into_book(place: Path, plan: Plan, done: Done, who: str) -> str:
    """Add every log of the batch that was analysed, one transaction each; gives a sentence about what was added.

    Raises UnusableBook where the book cannot be written; what was added before that stays added.
    """
    from dampkit.store.book import book_at

    counts: Counter[str] = Counter()
    with book_at(place, create=True) as book:
        for planned in plan.read():
            counts[_add(book, planned, plan.named, done, who)] += 1
    tail = f"; {counts['changed']} left out because their files changed meanwhile" if counts["changed"] else ""
    return f"job book {place}: {counts['fresh']} added, {counts['known']} there already{tail}"


def _add(book: OpenBook, planned: Planned, named: JobFiles, done: Done, who: str) -> str:
    from dampkit.bench.gate import A_LOG, file_bytes
    from dampkit.outcome.result import Result
    from dampkit.store.content import sha256_of
    from dampkit.store.record import Circumstances, new_entry
    from dampkit.store.settings import read_settings

    outcome = done.get(planned.key) if planned.key else None
    if outcome is None or outcome.result is None:
        return "not analysed"
    paths = [Path(planned.file), *map(Path, planned.more)]
    result = Result.read(outcome.result)
    try:
        records = [file_bytes(path, A_LOG) for path in paths]
    except DampkitError:
        return "changed"
    if [sha256_of(data) for data in records] != [file.sha256 for file in result.run.files]:
        return "changed"
    said = Circumstances(who, result.damper.serial)
    added = book.add(new_entry(result, records, read_settings(named.beside(paths[0])), said))
    return "fresh" if added.fresh else "known"
