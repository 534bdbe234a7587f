"""What a batch found, put into the job book."""

from __future__ import annotations

from pathlib import Path

from dampkit.app.logs import Plan
from dampkit.bench.gate import A_LOG, file_bytes
from dampkit.errors import DampkitError
from dampkit.job import JobFiles
from dampkit.outcome.result import Result
from dampkit.store.book import Book, book_at
from dampkit.store.content import sha256_of
from dampkit.store.outcomes import Done, Planned
from dampkit.store.record import Circumstances, new_entry
from dampkit.store.settings import read_settings


def add_all(place: Path, plan: Plan, done: Done, who: str) -> str:
    """Add every log of the batch that was analysed, one transaction each; gives a sentence about what was added.

    Raises UnusableBook where the book cannot be written; what was added before that stays added.
    """
    fresh = known = changed = 0
    with book_at(place, create=True) as book:
        for planned in plan.read():
            added = _add(book, planned, plan.named, done, who)
            fresh, known, changed = (
                fresh + (added == "fresh"),
                known + (added == "known"),
                changed + (added == "changed"),
            )
    tail = f"; {changed} left out because their files changed meanwhile" if changed else ""
    return f"job book {place}: {fresh} added, {known} there already{tail}"


def _add(book: Book, planned: Planned, named: JobFiles, done: Done, who: str) -> str:
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
