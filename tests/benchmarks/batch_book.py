"""How quick a large job book answers: python -m tests.benchmarks.batch_book 100000

Fills a book with made-up entries (one of two made-up results and a log of a few bytes each), then asks it.
"""

from __future__ import annotations

import random
import sys
import tempfile
import time
from collections.abc import Callable
from datetime import date, timedelta
from pathlib import Path

from dampkit.store.book import Book, add_within, book_at
from dampkit.store.look_up import Question, find, history
from dampkit.store.record import Circumstances, NewEntry, new_entry
from dampkit.store.schema import writing
from dampkit.store.settings import Settings
from tests.report.made_up import low_oil, sound

LIMIT_S = 0.1
TESTS_A_UNIT = 10
RESULTS = [sound(), low_oil()]
SETTINGS = Settings(damper="# made up\n")


def entry(n: int, runs: int) -> NewEntry:
    day = date(2000, 1, 1) + timedelta(days=n * 8000 // runs)
    unit, facts = n * 7919 % (runs // TESTS_A_UNIT), {"customer": f"customer {n // 8}", "unit_type": f"type {n % 500}"}
    said = Circumstances("made-up fitter", f"U-{unit}", f"job {n // 4}", day.isoformat(), facts=facts)
    return new_entry(RESULTS[n % 7 == 0], b"log %d" % n, SETTINGS, said)


COPIES = (
    "INSERT INTO unit SELECT id + :k * :units, serial || '.' || :k FROM unit WHERE id <= :units",
    "INSERT INTO job SELECT id + :k * :jobs, name || '.' || :k FROM job WHERE id <= :jobs",
    "INSERT INTO content SELECT hex(randomblob(32)), size_bytes, packed FROM content WHERE rowid <= :first",
    """INSERT INTO entry SELECT id + :k * :first, uid || '.' || :k, unit_id + :k * :units, job_id + :k * :jobs,
        (SELECT sha256 FROM content AS c WHERE c.rowid = entry.id + :k * :first), settings_sha256,
        corrects + :k * :first, file, date(tested_on, '+' || :k || ' days'), action, faults, version, who, added_at
        FROM entry WHERE id <= :first""",
    "INSERT INTO result SELECT entry_id + :k * :first, sha256, packed FROM result WHERE entry_id <= :first",
    """INSERT INTO stands SELECT entry_id + :k * :first, unit_id + :k * :units, job_id + :k * :jobs,
        date(tested_on, '+' || :k || ' days'), customer || '.' || :k, unit_type, action, faults
        FROM stands WHERE entry_id <= :first""",
    "INSERT INTO measure SELECT entry_id + :k * :first, name, value, low, high FROM measure WHERE entry_id <= :first",
)


def fill(book: Book, runs: int, first: int = 1000) -> None:
    """The first runs are added as always, in one transaction; the others are copies of them under other names."""
    with writing(book.connection):
        for n in range(first):
            add_within(book.connection, entry(n, first), "")
    counted = {"first": first, "units": first // TESTS_A_UNIT, "jobs": first // 4}
    for k in range(1, runs // first):
        with writing(book.connection):
            for statement in COPIES:
                book.connection.execute(statement, {"k": k, **counted})


def questions(book: Book, runs: int) -> dict[str, Callable[[], object]]:
    serial = f"U-{random.randrange(100)}.{random.randrange(1, runs // 1000)}"
    return {
        "list, latest 50": lambda: find(book, Question()),
        "list, one serial": lambda: find(book, Question(serial=serial)),
        "list, one fault": lambda: find(book, Question(fault="low_oil")),
        "list, a fault of none": lambda: find(book, Question(fault="fade")),
        "list, a verdict of many": lambda: find(book, Question(action="fit")),
        "list, one year": lambda: find(book, Question(since="2003-01-01", until="2003-12-31")),
        "list, a day without a test": lambda: find(book, Question(since="1990-01-01", until="1990-01-02")),
        "find, a word of many": lambda: find(book, Question(words="bench-day")),
        "find, a word of few": lambda: find(book, Question(words=serial)),
        "find, a word of none": lambda: find(book, Question(words="nowhere")),
        "list, one customer": lambda: find(book, Question(customer="customer 5.3")),
        "list, one type": lambda: find(book, Question(unit_type="type 77")),
        "find, one log": lambda: find(book, Question(log_sha256="0" * 64)),
        "history of a unit": lambda: history(book, serial),
    }


def measured(runs: int, folder: Path, rounds: int = 5) -> dict[str, tuple[float, float]]:
    """Slowest of some rounds of every question, passed and processor seconds, each with the book freshly opened."""
    place = folder / "book.sqlite"
    started = time.perf_counter()
    with book_at(place, create=True) as book:
        fill(book, runs)
    print(
        f"{runs} runs in {time.perf_counter() - started:.0f} s, {place.stat().st_size / runs:.0f} bytes a run",
        file=sys.stderr,
    )
    worst: dict[str, tuple[float, float]] = {}
    for _ in range(rounds):
        with book_at(place) as book:
            for name, ask in questions(book, runs).items():
                before = worst.get(name, (0.0, 0.0))
                started, busy = time.perf_counter(), time.process_time()
                ask()
                worst[name] = max(before[0], time.perf_counter() - started), max(before[1], time.process_time() - busy)
    return worst


def main(runs: int) -> int:
    with tempfile.TemporaryDirectory(dir=sys.argv[2] if len(sys.argv) > 2 else None) as folder:
        worst = measured(runs, Path(folder))
    for name, (passed_s, busy_s) in worst.items():
        print(f"{name:<28} {1000 * passed_s:7.1f} ms, of that {1000 * busy_s:7.1f} ms of the processor")
    return int(max(passed_s for passed_s, _ in worst.values()) > LIMIT_S)


if __name__ == "__main__":
    sys.exit(main(int(sys.argv[1]) if len(sys.argv) > 1 else 100_000))
