"""The records of an entry analysed again, here and now, from their own bytes: what a stored verdict is held against."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from dampkit.errors import DampkitError
from dampkit.frozen import frozen
from dampkit.store.book import Book
from dampkit.store.look_up import find
from dampkit.store.question import EVERY, Question
from dampkit.store.record import Entry, fault_codes
from dampkit.store.settings import Settings
from dampkit.version import __version__

REFUSED = "not analysed"


@frozen
class Repeated:
    """What the records give with this version; `action` is REFUSED, and `why` says why, where they give nothing."""

    action: str
    faults: str
    why: str = ""
    version: str = __version__


def analysed_again(records: Sequence[tuple[str, bytes]], settings: Settings) -> Repeated:
    """Never raises for what records or settings hold: a record that cannot be analysed has no verdict."""
    from dampkit.analyse import analyse_job
    from dampkit.bench.test import read_test

    try:
        job = settings.load()
        test = read_test([data for _, data in records], job.bench, names=[name for name, _ in records])
        result = analyse_job(test, job)
    except DampkitError as error:
        return Repeated(REFUSED, "", " ".join(error.lines()))
    return Repeated(result.verdict.action, fault_codes(result.to_dict()))


def differing(book: Book) -> Iterator[tuple[Entry, Repeated]]:
    """Entries whose records do not give the stored verdict or faults again, oldest first."""
    for entry in reversed(find(book, Question(corrected=True, limit=EVERY))):
        again = analysed_again(book.records(entry.id), book.settings(entry.id))
        if (again.action, again.faults) != (entry.action, entry.faults):
            yield entry, again
